"""Fingering of any line: string, fret, hand and finger for every note, by exact dynamic programming."""
