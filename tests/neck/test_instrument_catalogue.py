"""The instruments and tunings that come with the program."""

from __future__ import annotations

import pytest
from neck_strategies import pitches

from phrasewright.neck.catalogue import INSTRUMENT_KINDS, instrument, parse_tuning
from phrasewright.neck.instrument import Hand

# instrument, tuning, MIDI numbers of the open strings from the highest string number to string 1 (common practice)
TUNINGS = [
    ("guitar", "standard", "40 45 50 55 59 64"),
    ("guitar", "drop-d", "38 45 50 55 59 64"),
    ("guitar", "double-drop-d", "38 45 50 55 59 62"),
    ("guitar", "dadgad", "38 45 50 55 57 62"),
    ("guitar", "open-d", "38 45 50 54 57 62"),
    ("guitar", "open-e", "40 47 52 56 59 64"),
    ("guitar", "open-g", "38 43 50 55 59 62"),
    ("guitar", "open-a", "40 45 52 57 61 64"),
    ("guitar", "open-c", "36 43 48 55 60 64"),
    ("guitar", "open-d-minor", "38 45 50 53 57 62"),
    ("guitar", "half-step-down", "39 44 49 54 58 63"),
    ("guitar", "whole-step-down", "38 43 48 53 57 62"),
    ("guitar", "drop-c", "36 43 48 53 57 62"),
    ("guitar", "all-fourths", "40 45 50 55 60 65"),
    ("guitar", "all-fifths", "36 43 50 57 64 71"),
    ("classical-guitar", "standard", "40 45 50 55 59 64"),
    ("guitar-7", "standard", "35 40 45 50 55 59 64"),
    ("guitar-7", "drop-a", "33 40 45 50 55 59 64"),
    ("guitar-8", "standard", "30 35 40 45 50 55 59 64"),
    ("guitar-8", "drop-e", "28 35 40 45 50 55 59 64"),
    ("baritone", "standard", "35 40 45 50 54 59"),
    ("baritone", "a-to-a", "33 38 43 48 52 57"),
    ("bass", "standard", "28 33 38 43"),
    ("bass", "drop-d", "26 33 38 43"),
    ("bass", "half-step-down", "27 32 37 42"),
    ("bass-5", "standard", "23 28 33 38 43"),
    ("bass-5", "high-c", "28 33 38 43 48"),
    ("ukulele", "standard", "67 60 64 69"),
    ("ukulele", "low-g", "55 60 64 69"),
    ("ukulele", "d-tuning", "69 62 66 71"),
    ("ukulele", "baritone", "50 55 59 64"),
    ("mandolin", "standard", "55 62 69 76"),
]


@pytest.mark.parametrize(("name", "tuning", "midi"), TUNINGS)
def test_each_tuning_sounds_as_players_tune_it(name: str, tuning: str, midi: str) -> None:
    """Open strings as MIDI numbers, listed by hand."""
    build = instrument(name, tuning=tuning)
    assert [pitch.midi for pitch in reversed(build.tuning)] == [int(word) for word in midi.split()]


def test_every_tuning_has_its_row() -> None:
    """No instrument or tuning goes untested; a classical guitar is tuned as any other."""
    listed = {(kind.id, tuning.id) for kind in INSTRUMENT_KINDS.values() for tuning in kind.tunings}
    classical = {("classical-guitar", tuning.id) for tuning in INSTRUMENT_KINDS["guitar"].tunings}
    assert listed == {(name, tuning) for name, tuning, _ in TUNINGS} | classical


def test_standard_comes_first_and_needs_no_word() -> None:
    """An instrument without a tuning is in standard; any other tuning shows in the name."""
    assert instrument("guitar") == instrument("guitar", tuning="standard")
    assert instrument("guitar").name == "guitar"
    assert instrument("guitar", tuning="dadgad").name == "guitar, DADGAD"


def test_everything_about_it_can_be_changed() -> None:
    """Frets, scale length, capo, fretting hand and a tuning of one's own."""
    own = parse_tuning("C2 G2 C3 F3 C4 D4")
    build = instrument("guitar", tuning=own, capo=2, frets=24, scale_length_mm=628.0, fretting_hand=Hand.RIGHT)
    assert (build.tuning, build.capo, build.frets, build.scale_length_mm) == (own, 2, 24, 628.0)
    assert build.fretting_hand is Hand.RIGHT
    assert build.name == "guitar, custom tuning"


def test_a_tuning_is_read_from_the_highest_string_number() -> None:
    """Players say the sixth string first; string 1 stands first in the value."""
    assert parse_tuning("E2 A2 D3 G3 B3 E4") == instrument("guitar").tuning
    assert parse_tuning("E2 A2 D3 G3 B3 E4")[0].midi == 64


def test_notation_is_written_an_octave_up_only_where_it_is() -> None:
    """Guitars and basses are written an octave above their sound, ukulele and mandolin are not (common practice)."""
    written = {kind.id: kind.written_octaves for kind in INSTRUMENT_KINDS.values()}
    assert {name for name, octaves in written.items() if octaves == 0} == {"ukulele", "mandolin"}


@pytest.mark.parametrize(
    ("name", "tuning", "message"),
    [
        ("gutiar", None, "unknown instrument 'gutiar'; did you mean guitar"),
        ("Guitar 7", None, "did you mean guitar-7"),
        ("kazoo!", None, "unknown instrument 'kazoo!'; there is guitar, classical-guitar"),
        ("guitar", "drop d", "unknown tuning of the guitar 'drop d'; did you mean drop-d"),
        ("mandolin", "zzz", "unknown tuning of the mandolin 'zzz'; there is standard"),
    ],
)
def test_an_unknown_name_suggests_the_nearest(name: str, tuning: str | None, message: str) -> None:
    """A misspelt instrument or tuning is answered with what was probably meant."""
    with pytest.raises(ValueError, match=message):
        instrument(name, tuning=tuning)


def test_strings_may_be_as_few_as_three_and_as_many_as_twelve() -> None:
    """A custom tuning sets the number of strings."""
    assert len(instrument("guitar", tuning=pitches(40, (5, 5))).strings) == 3
    assert len(instrument("guitar", tuning=pitches(28, (4,) * 11)).strings) == 12
