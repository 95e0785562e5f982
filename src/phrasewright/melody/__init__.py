"""Motifs: enumerate, transform, classify, and weigh them over a chord."""
