"""Figures of a take: what was played, when, how high, against what was meant."""
