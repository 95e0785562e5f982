"""Keys by profile and distances of chords, against published values."""

from __future__ import annotations

from statistics import correlation

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.melody.chord_distance import chord_distance
from phrasewright.melody.key_profile import PROFILES, key_of_chart, keys_of, profile_of
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.chord_symbol import parse_chord, parse_optional_chord
from phrasewright.theory.key import Key, Mode
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName

C_MAJOR = Key(NoteName("C"), Mode.MAJOR)


def chart(text: str) -> Chart:
    meter = Meter(4, 4)
    return Chart(
        meter=meter, bars=tuple(ChartBar(chords=((parse_optional_chord(w), meter.bar),)) for w in text.split())
    )


@pytest.mark.parametrize(
    ("tonic", "mode", "value"),
    [
        (7, Mode.MAJOR, 0.591), (5, Mode.MAJOR, 0.591), (9, Mode.MINOR, 0.650), (0, Mode.MINOR, 0.512),
        (4, Mode.MINOR, 0.536), (2, Mode.MINOR, 0.237), (6, Mode.MAJOR, -0.683),
    ],
)  # fmt: skip
def test_correlations_with_c_major(tonic: int, mode: Mode, value: float) -> None:
    """Krumhansl 1990: C major with G, F, a, c, e, d and F sharp, to three decimals (docs/sources.md 3.1)."""
    found = correlation(profile_of(0, Mode.MAJOR), profile_of(tonic, mode))
    assert found == pytest.approx(value, abs=0.0006)


@pytest.mark.parametrize(
    ("symbol", "distance"), [("C", 0), ("G", 5), ("F", 5), ("Am", 7), ("Em", 7), ("Dm", 8), ("Bdim", 8)]
)
def test_distances_from_the_tonic(symbol: str, distance: int) -> None:
    """Lerdahl 2001: I to V 5, IV 5, vi 7, iii 7, ii 8, vii diminished 8 (docs/sources.md 3.4)."""
    assert chord_distance(parse_chord("C"), parse_chord(symbol), C_MAJOR) == distance


def test_a_chord_outside_the_key_has_no_distance() -> None:
    """The measure is for chords of one key."""
    assert chord_distance(parse_chord("C"), parse_chord("F#m"), C_MAJOR) is None


@given(st.sampled_from(Mode), st.integers(0, 11), st.floats(0.1, 9.0), st.floats(0.0, 5.0))
def test_a_key_is_found_by_its_own_profile(mode: Mode, tonic: int, scale: float, offset: float) -> None:
    """A profile turned, stretched and lifted is still its key, with correlation 1."""
    best = keys_of([scale * weight + offset for weight in profile_of(tonic, mode)])[0]
    assert (best.key.tonic.pitch_class, best.key.mode) == (tonic, mode)
    assert best.correlation == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("chords", "key"),
    [
        ("Dm7 G7 Cmaj7 Cmaj7", "C major"),
        ("Em7 A7 Em7 Em7 Am7 Am7 Em7 Em7 B7 Am7 Em7 B7", "E minor"),
        ("Bb Gm Eb F", "Bb major"),
        ("Bm7b5 E7 Am Am", "A minor"),
    ],
)
def test_charts_sound_in_their_keys(chords: str, key: str) -> None:
    """Cadences and a minor blues (common practice)."""
    found = key_of_chart(chart(chords))
    assert found is not None
    assert str(found.key) == key


def test_nothing_to_hear_has_no_key() -> None:
    """No chords, and a mixture in which all notes are alike."""
    assert key_of_chart(chart("NC NC")) is None
    assert keys_of([1.0] * 12) == ()
    assert {len(profile) for profile in PROFILES.values()} == {12}
