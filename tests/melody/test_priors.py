"""Shares of pitch classes over chords: measured rows, borrowed rows, and the rock profile."""

from __future__ import annotations

from math import isclose, log2

import pytest
from hypothesis import given
from hypothesis import strategies as st
from melody_strategies import NAMES, chord, chords

from phrasewright.melody.priors import CHORD_PERCENT, ROCK_MELODY, Idiom, bits_of, chord_shares, shares_over
from phrasewright.theory.chord import Action, Alteration, Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale

A_MINOR = Scale(NoteName("A"), SCALE_KINDS["minor-pentatonic"])


@pytest.mark.parametrize("kind", sorted(CHORD_PERCENT))
def test_measured_chords_give_their_own_row(kind: str) -> None:
    """The three measured chord types give the shares of docs/sources.md 3.6, made to sum to one."""
    total = sum(CHORD_PERCENT[kind])
    assert total == pytest.approx(100, abs=0.2)
    assert chord_shares(chord("F", kind)) == pytest.approx([share / total for share in CHORD_PERCENT[kind]])


@pytest.mark.parametrize(
    ("kind", "pitch_class", "bits"),
    [("dominant", 0, 0.759), ("dominant", 11, -0.921), ("minor-seventh", 7, 0.748), ("major-seventh", 1, -1.737)],
)
def test_bits_of_measured_shares(kind: str, pitch_class: int, bits: float) -> None:
    """log2(P / (1/12)) worked by hand from docs/sources.md 3.6: 14.1, 4.4, 14.0 and 2.5 per cent."""
    assert bits_of(chord_shares(chord("C", kind))[pitch_class]) == pytest.approx(bits, abs=0.004)


def test_chance_is_zero_bits() -> None:
    """A twelfth is no information."""
    assert bits_of(1 / 12) == pytest.approx(0.0)
    assert bits_of(1 / 6) == pytest.approx(1.0)


@given(chords(), st.sampled_from(Idiom), st.sampled_from(NAMES), st.sampled_from(sorted(SCALE_KINDS)))
def test_every_chord_has_twelve_positive_shares(chord, idiom, root, kind) -> None:
    """Over any chord in any key the twelve shares are positive and sum to one: no note is forbidden."""
    shares = shares_over(chord, idiom, Scale(root, SCALE_KINDS[kind]))
    assert len(shares) == 12
    assert min(shares) > 0
    assert isclose(sum(shares), 1.0, abs_tol=1e-9)


@pytest.mark.parametrize(
    ("kind", "altered", "plain"),
    [
        ("half-diminished", 6, 7),
        ("diminished-seventh", 6, 7),
        ("diminished-seventh", 9, 10),
        ("augmented-seventh", 8, 7),
        ("major-minor", 11, 10),
        ("augmented", 8, 7),
    ],
)
def test_an_altered_tone_trades_with_the_plain_one(kind: str, altered: int, plain: int) -> None:
    """The tone that the chord names is more usual over it than the plain one it replaces."""
    shares = chord_shares(chord("C", kind))
    assert shares[altered] > shares[plain]


def test_a_flat_nine_trades_with_the_nine() -> None:
    """C7(b9): the flat ninth becomes as usual as the ninth was."""
    plain = chord_shares(chord("C"))
    flat = chord_shares(
        Chord(root=NoteName("C"), kind=chord("C").kind, alterations=(Alteration(Action.ADD, Degree(9, -1)),))
    )
    assert flat[1] == pytest.approx(plain[2])
    assert flat[2] == pytest.approx(plain[1])


def test_a_triad_lies_between_its_sevenths() -> None:
    """The seventh of a plain triad is unsaid: each share lies between dominant and major seventh."""
    triad, low, high = (chord_shares(chord("G", kind)) for kind in ("major", "dominant", "major-seventh"))
    for share, a, b in zip(triad, low, high, strict=True):
        assert min(a, b) - 0.002 <= share <= max(a, b) + 0.002


def test_the_rock_profile_is_the_minor_pentatonic() -> None:
    """0 3 5 7 10 hold .791 of the minor profile (docs/sources.md 3.2)."""
    assert sum(ROCK_MELODY["minor"][pc] for pc in (0, 3, 5, 7, 10)) == pytest.approx(0.791, abs=1e-9)


def test_blues_lifts_the_tones_of_the_scale() -> None:
    """Over A7 in A minor pentatonic the flat third is rarer than chance to jazz and more usual than chance to blues."""
    jazz = shares_over(chord("A"), Idiom.JAZZ, A_MINOR)[3]
    blues = shares_over(chord("A"), Idiom.BLUES, A_MINOR)[3]
    assert bits_of(jazz) < 0 < bits_of(blues)


def test_blues_is_the_geometric_mean() -> None:
    """Over D7 in A: ratios of shares are geometric means of table and profile, root on root."""
    table, shares = chord_shares(chord("D")), shares_over(chord("D"), Idiom.BLUES, A_MINOR)
    minor = ROCK_MELODY["minor"]  # D is 5 above A
    expected = (log2(table[0] / table[7]) + log2(minor[5] / minor[0])) / 2
    assert log2(shares[0] / shares[7]) == pytest.approx(expected)
