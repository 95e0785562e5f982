"""Pitches, intervals, scales, chords, keys, meters and counts: values only."""
