"""The accompaniment: grooves as data; drums, bass and chords from a chart."""
