"""Exercises and studies made from a shelf of motifs."""
