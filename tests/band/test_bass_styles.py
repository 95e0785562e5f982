"""Riffs return, root and fifth alternate, a pedal holds; and one hand can play every line on a bass's neck."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise

import pytest
from band_strategies import BLUES, TURN, jobs, notes_of, unfolded
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.band.arrange import accompany
from phrasewright.band.bass_neck import BASS_GUITAR, REACH_MM, frets_in_reach, stops_of
from phrasewright.band.form import Ending
from phrasewright.band.groove import GROOVES, Groove
from phrasewright.band.groove_file import read_groove
from phrasewright.band.groove_model import BassStyle
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Measure, Note, PartRole
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.meter import Meter

RIFFS = [groove for groove in GROOVES.values() if groove.bass_style is BassStyle.RIFF]
Figure = tuple[tuple[Fraction, Fraction, int], ...]  # onset, duration, semitones over the bar's first note


def bass_of(measures: tuple[Measure, ...], groove: Groove, seed: int = 0) -> tuple[Note, ...]:
    return notes_of(accompany(measures, groove, seed=seed), PartRole.BASS)


def by_bar(measures: tuple[Measure, ...], notes: tuple[Note, ...]) -> Iterator[list[Note]]:
    for measure in measures:
        yield [note for note in notes if measure.onset <= note.onset < measure.end]


def figure(bar: list[Note], onset: Fraction) -> Figure:
    return tuple((note.onset - onset, note.duration, note.pitch.midi - bar[0].pitch.midi) for note in bar)


def one_riff(bass: str, style: str = "riff") -> Groove:
    """A groove with a single bass pattern in 4/4."""
    head = f'id = "a"\nname = "a"\ndescription = "a"\n[bass]\nstyle = "{style}"\n'
    return read_groove(f'{head}[[plan]]\nmeter = "4/4"\nbass = ["{bass}"]', "a.toml")


@pytest.mark.parametrize("groove", RIFFS, ids=lambda groove: groove.id)
@pytest.mark.parametrize("seed", range(3))
def test_a_riff_returns(groove: Groove, seed: int) -> None:
    """Every bar that opens with a new chord has the figure's first bar, in the same shape, whichever the chord."""
    meter = groove.meters[0]
    measures = unfolded("A7 | A7 | D7 | D7 | E7 | D7 | G7 | G7 | A7 | C7 | Bb7 | Bb7", str(meter), choruses=2)
    shapes: set[tuple[tuple[Fraction, int], ...]] = set()
    bars = list(by_bar(measures, bass_of(measures, groove, seed)))
    for before, measure, bar in zip(measures, measures[1:], bars[1:], strict=False):
        if measure.chords[0].chord != before.chords[0].chord:
            shape = [(note.onset - measure.onset, note.pitch.midi - bar[0].pitch.midi) for note in bar]
            shapes.add(tuple(shape[:-1]))  # the last one may lead on
    assert len(shapes) == 1


def test_a_riff_keeps_its_shape_and_fits_the_chord() -> None:
    """Up the chord and back: thirds and sevenths are the chord's own, the shape is the written one, on every root."""
    groove = one_riff("R-3-5-7- | 8-7-5-3-")
    for symbol, first, second in (
        ("A7", (0, 4, 7, 10), (12, 10, 7, 4)),
        ("Am7", (0, 3, 7, 10), (12, 10, 7, 3)),
        ("Amaj7", (0, 4, 7, 11), (12, 11, 7, 4)),
        ("Am7b5", (0, 3, 6, 10), (12, 10, 6, 3)),
    ):
        measures = unfolded(f"{symbol} | {symbol} | {symbol} | {symbol}")
        root, *_ = (note.pitch.midi for note in bass_of(measures, groove))
        rises = [tuple(n.pitch.midi - root for n in bar) for bar in by_bar(measures, bass_of(measures, groove))]
        assert rises == [first, second, first, second]


@pytest.mark.parametrize("root", ["C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"])
@pytest.mark.parametrize("riff", ["R-7-R-8-", "R.3.4.5.6.7.8.7.", "8-7-5-R-"])
def test_every_root_has_room_for_the_shape(root: str, riff: str) -> None:
    """From a seventh below to an octave above, a riff lies within a four-string bass's range in every key."""
    heights = {"R": 0, "3": 4, "4": 5, "5": 7, "6": 9, "7": 10, "8": 12}
    measures = unfolded(" | ".join([f"{root}7"] * 4))
    played = [note.pitch.midi for note in bass_of(measures, one_riff(riff))]
    signs = [sign for sign in riff if sign in heights]
    wanted = [heights[sign] for sign in signs]
    if riff == "R-7-R-8-":
        wanted[1] = -2
    assert [pitch - played[0] for pitch in played[: len(wanted)]] == [height - wanted[0] for height in wanted]


def test_parts_of_one_name_keep_their_riff() -> None:
    """A, B, A: both A parts play the same line, B another figure."""
    bar = ((parse_chord("Em7"), Fraction(4)),)
    names = ["A", *[""] * 7, "B", *[""] * 7, "A", *[""] * 7]
    measures = Chart(meter=Meter(4, 4), bars=tuple(ChartBar(chords=bar, section=name) for name in names)).unfold(24)
    for seed in range(4):
        bars = list(by_bar(measures, bass_of(measures, GROOVES["sixteenth-funk"], seed)))
        parts = [
            [figure(bar, m.onset) for bar, m in zip(bars[at : at + 8], measures[at:], strict=False)]
            for at in (0, 8, 16)
        ]
        assert parts[0][:7] == parts[2][:7]
        assert parts[0][:7] != parts[1][:7]


@pytest.mark.parametrize("seed", range(3))
def test_root_and_fifth_alternate(seed: int) -> None:
    """In a waltz of one note a bar, a chord that goes on has its root and its fifth in turn (common practice)."""
    measures = unfolded("G | G | G | G | C | C | D7 | D7")
    played = [str(note.pitch.name) for note in bass_of(measures, one_riff("R---", "fifths"), seed)]
    assert played == ["G", "D", "G", "D", "C", "G", "D", "A"]


def test_a_pedal_holds_through_a_part() -> None:
    """The bass note of the part's first chord sounds under all its chords; the next part has its own; silence stays."""
    chart = {"A": "C | F G | Am/E | N.C. | Dm | G | C | C", "B": "Am | F | G | E7 | Am | F | G | E7"}
    bars: list[ChartBar] = []
    for name, text in chart.items():
        for place, bar in enumerate(text.split(" | ")):
            words = bar.split()
            found = tuple((None if w == "N.C." else parse_chord(w), Fraction(4, len(words))) for w in words)
            bars.append(ChartBar(chords=found, section="" if place else name))
    measures = Chart(meter=Meter(4, 4), bars=tuple(bars)).unfold(16)
    notes = bass_of(measures, GROOVES["pedal-point"])
    assert {str(note.pitch.name) for note in notes if note.onset < 32} == {"C"}
    assert {str(note.pitch.name) for note in notes if note.onset >= 32} == {"A"}
    assert not [note for note in notes if 12 <= note.onset < 16]


@given(jobs(), st.integers(0, 9), st.sampled_from(Ending))
def test_every_note_has_its_place_and_finger(
    job: tuple[tuple[Measure, ...], Groove], seed: int, ending: Ending
) -> None:
    """Each note's string and fret sound its pitch, up to the twelfth fret; a finger stops what is not open."""
    measures, groove = job
    for note in notes_of(accompany(measures, groove, seed=seed, ending=ending), PartRole.BASS):
        assert note.place is not None
        assert BASS_GUITAR.midi_at(note.place) == note.pitch.midi
        assert note.place.fret <= 12
        assert (note.finger == 0) == (note.place.fret == 0)
        assert note.finger in range(5)


@pytest.mark.parametrize("pitch_class", range(12))
def test_stops_lie_in_the_hand(pitch_class: int) -> None:
    """Index to little finger reach 105 mm: three frets up to the fourth, four from the fifth on (common practice)."""
    for stop in stops_of(pitch_class):
        if stop.place.fret:
            assert BASS_GUITAR.stretch_mm(stop.hand, stop.place.fret) <= REACH_MM
    assert [frets_in_reach(hand) for hand in range(1, 8)] == [2, 2, 2, 2, 3, 3, 3]


@pytest.mark.parametrize(
    "groove", [g for g in GROOVES.values() if g.bass_style is not BassStyle.PEDAL], ids=lambda g: g.id
)
def test_the_hand_shifts_seldom(groove: Groove) -> None:
    """Over a blues and a turnaround most notes lie under the hand, and none asks for a shift of half the neck."""
    if not groove.plan(groove.meters[0]).bass:
        return
    stays = shifts = 0
    for text in (BLUES, TURN):
        notes = bass_of(unfolded(text, str(groove.meters[0]), choruses=2), groove, seed=1)
        for before, after in pairwise(notes):
            if before.place and after.place and before.place.fret and after.place.fret:
                apart = BASS_GUITAR.stretch_mm(before.place.fret, after.place.fret)
                assert apart < BASS_GUITAR.scale_length_mm / 3
                stays += apart <= REACH_MM
                shifts += apart > REACH_MM
    assert stays / max(stays + shifts, 1) > 0.85


def test_the_same_line_has_the_same_fingers() -> None:
    """Where a loop repeats without chance between, hand and notes repeat."""
    groove = replace(one_riff("R-3-5-3-"), bass_style=BassStyle.RIFF)
    measures = unfolded("A7 | D7 | E7 | D7", choruses=3)
    notes = bass_of(measures, groove)
    chorus = [[(n.place, n.finger) for n in group] for _, group in groupby(notes, key=lambda n: n.onset // 16)]
    assert chorus[0] == chorus[1] == chorus[2]
