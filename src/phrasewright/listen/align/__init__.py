"""Heard notes against what was meant: which belong together, and where they lie in the music."""
