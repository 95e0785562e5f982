"""Hypothesis strategies for the values of phrasewright.theory."""

from __future__ import annotations

from hypothesis import strategies as st

from phrasewright.theory.chord import CHORD_KINDS, Chord, tidy_chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import LETTERS, NoteName, Pitch
from phrasewright.theory.scale import SCALE_KINDS, Scale

names = st.builds(NoteName, st.sampled_from(LETTERS), st.integers(-2, 2))
plain_names = st.builds(NoteName, st.sampled_from(LETTERS), st.integers(-1, 1))
pitches = st.builds(Pitch, names, st.integers(-1, 9))
degrees = st.builds(Degree, st.integers(1, 15), st.integers(-2, 2))
scales = st.builds(Scale, plain_names, st.sampled_from(sorted(SCALE_KINDS.values(), key=lambda kind: kind.id)))


@st.composite
def chords(draw: st.DrawFn) -> Chord:
    """Any chord this program can say: a kind on a root with tones added, moved and left out, over any bass."""
    kind = draw(st.sampled_from(sorted(CHORD_KINDS.values(), key=lambda kind: kind.id)))
    tones = set(kind.degrees)
    for degree in draw(st.lists(st.sampled_from(kind.degrees), max_size=2)):
        tones.discard(degree)
    tones |= set(draw(st.lists(st.builds(Degree, st.integers(2, 13), st.integers(-1, 1)), max_size=3)))
    bass = draw(st.none() | plain_names)
    return tidy_chord(draw(plain_names), kind, tuple(tones), bass)
