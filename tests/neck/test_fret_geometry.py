"""Frets, pitches and stretches in numbers."""

from __future__ import annotations

from collections import Counter

import pytest
from neck_strategies import pitches

from phrasewright.neck.catalogue import instrument
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.request import default_stretch_mm
from phrasewright.units import hz_from_midi, midi_from_hz

GUITAR = instrument("guitar")
# fret, mm from the nut at 648.0 mm, inches from the nut at 25.5 in; equal temperament, also a luthier's printed table
FRETS = [
    (1, 36.37, 1.431),
    (2, 70.70, 2.782),
    (3, 103.10, 4.057),
    (4, 133.68, 5.261),
    (5, 162.55, 6.397),
    (6, 189.79, 7.469),
    (7, 215.51, 8.481),
    (8, 239.79, 9.436),
    (9, 262.70, 10.338),
    (10, 284.32, 11.189),
    (11, 304.73, 11.992),
    (12, 324.00, 12.750),
    (13, 342.18, 13.466),
    (14, 359.35, 14.141),
    (15, 375.55, 14.779),
    (16, 390.84, 15.380),
    (17, 405.27, 15.948),
    (18, 418.90, 16.484),
    (19, 431.76, 16.990),
    (20, 443.89, 17.468),
    (21, 455.35, 17.919),
    (22, 466.16, 18.344),
]
STRETCHES = [
    (1, 97.3, 126.2, 153.4),
    (5, 77.2, 100.1, 121.8),
    (7, 68.8, 89.2, 108.5),
    (9, 61.3, 79.5, 96.7),
    (12, 51.5, 66.8, 81.3),
    (15, 43.3, 56.2, 68.3),
]
OPEN_STRINGS = [
    (1, 64, 329.628),
    (2, 59, 246.942),
    (3, 55, 195.998),
    (4, 50, 146.832),
    (5, 45, 110.000),
    (6, 40, 82.407),
]


@pytest.mark.parametrize(("fret", "mm", "inches"), FRETS)
def test_frets_lie_where_equal_temperament_puts_them(fret: int, mm: float, inches: float) -> None:
    """To 0.01 mm at 648.0 mm, and to a thousandth of an inch at 25.5 in, which is not the same length."""
    assert GUITAR.fret_mm(fret) == pytest.approx(mm, abs=0.01)
    imperial = instrument("guitar", scale_length_mm=25.5 * 25.4)
    assert imperial.fret_mm(fret) / 25.4 == pytest.approx(inches, abs=0.0006)
    assert imperial.fret_mm(fret) < GUITAR.fret_mm(fret)


def test_the_octave_halves_the_string() -> None:
    """Fret 12 lies at half the scale length, fret 24 at three quarters."""
    assert GUITAR.fret_mm(12) == pytest.approx(324.0)
    assert GUITAR.fret_mm(24) == pytest.approx(486.0)


@pytest.mark.parametrize(("fret", "three_mm", "four_mm", "five_mm"), STRETCHES)
def test_the_same_span_shrinks_up_the_neck(fret: int, three_mm: float, four_mm: float, five_mm: float) -> None:
    """Stretch from a fret to the third, fourth and fifth above it, at 648 mm."""
    spans = [GUITAR.stretch_mm(fret, fret + span) for span in (3, 4, 5)]
    assert spans == pytest.approx([three_mm, four_mm, five_mm], abs=0.05)


@pytest.mark.parametrize(("string", "midi", "hz"), OPEN_STRINGS)
def test_open_strings_sound_at_their_frequency(string: int, midi: int, hz: float) -> None:
    """Standard tuning in Hz with A4 = 440 Hz (ISO 16), to 0.001 Hz, and back."""
    assert GUITAR.midi_at(StringFret(string, 0)) == midi
    assert hz_from_midi(midi) == pytest.approx(hz, abs=0.001)
    assert midi_from_hz(hz_from_midi(midi)) == pytest.approx(midi)


@pytest.mark.parametrize(
    ("frets", "histogram"),
    [(22, {1: 10, 2: 9, 3: 10, 4: 10, 5: 8}), (24, {1: 10, 2: 9, 3: 10, 4: 9, 5: 10, 6: 1})],
)
def test_how_many_places_a_pitch_has(frets: int, histogram: dict[int, int]) -> None:
    """Places per pitch on six strings, counted by hand elsewhere; every place listed sounds the pitch."""
    guitar = instrument("guitar", frets=frets)
    places = {pitch: guitar.places_of(pitch) for pitch in range(20, 100)}
    assert Counter(len(found) for found in places.values() if found) == histogram
    assert all(guitar.midi_at(place) == pitch for pitch, found in places.items() for place in found)


def test_the_first_string_is_also_found_lower_down() -> None:
    """E4 on a 24-fret guitar: strings 1 to 6 at frets 0, 5, 9, 14, 19, 24."""
    places = instrument("guitar", frets=24).places_of(64)
    assert [(place.string, place.fret) for place in places] == [(1, 0), (2, 5), (3, 9), (4, 14), (5, 19), (6, 24)]


def test_a_capo_hides_what_lies_behind_it() -> None:
    """With a capo at 3 no place below fret 3 can sound."""
    guitar = instrument("guitar", capo=3)
    assert {place.fret for pitch in range(43, 48) for place in guitar.places_of(pitch)} == {3, 4, 5, 6, 7} - {0}
    with pytest.raises(ValueError, match="no such place"):
        guitar.midi_at(StringFret(1, 2))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"tuning": pitches(40, (5,))}, "3 to 12 strings"),
        ({"frets": 11}, "12 to 36 frets"),
        ({"capo": 18}, "capo must lie in 0..17"),
        ({"scale_length_mm": 100.0}, "200..1200 mm"),
    ],
)
def test_impossible_builds_are_refused(change: dict[str, object], message: str) -> None:
    """An instrument that exists is a possible one."""
    build: dict[str, object] = {"tuning": GUITAR.tuning, "frets": 22, "scale_length_mm": 648.0, "capo": 0, **change}
    with pytest.raises(ValueError, match=message):
        Instrument(id="x", name="x", **build)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("name", "allowed", "refused"),
    [("guitar", (1, 5), (3, 8)), ("guitar", (2, 6), (2, 7)), ("bass", (1, 4), (1, 5)), ("mandolin", (1, 9), (1, 12))],
)
def test_the_usual_stretch_fits_the_usual_shapes(name: str, allowed: tuple[int, int], refused: tuple[int, int]) -> None:
    """Without a student's own limit frets 1 to 5 of a guitar fit one hand; on a long bass neck 1 to 4."""
    build = instrument(name)
    assert build.stretch_mm(*allowed) <= default_stretch_mm(build) < build.stretch_mm(*refused)
