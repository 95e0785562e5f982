"""Sounding notes become bars that sum, ties that join and beams that stay in their group."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phrasewright.neck.instrument import StringFret
from phrasewright.score.accidentals import printed_accidentals
from phrasewright.score.model import Measure, Note, Part, PartRole, Score
from phrasewright.score.notation import WrittenBar, WrittenEvent, sounding, tab_fret, written_bars
from phrasewright.score.snap import snapped
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import Pitch
from sample_scores import CAPO_GUITAR, bars, two_voices
from strategies import accompaniments, lead_scores, measure_rows


def short(event: WrittenEvent) -> str:
    """``8.t3~b``: base, dots, tuplet, tie, beam; ``r`` for rests."""
    rest = "r" if event.is_rest else ""
    value = "W" if event.whole_bar else f"{event.value.base}{'.' * event.value.dots}"
    tuplet = f"t{event.tuplet.actual}" if event.tuplet else ""
    return rest + value + tuplet + ("~" if event.tied_to else "") + ("" if event.beam is None else "b")


def written(meter: str, *spans: str, count: int = 1) -> str:
    """Bars of one voice in short, from spans ``onset-end``."""
    felt = Meter.parse(meter)
    row = [Measure(number=i + 1, onset=i * felt.bar, meter=felt, chords=()) for i in range(count)]
    ends = [(Fraction(a), Fraction(b)) for a, b in (span.split("-") for span in spans)]
    notes = [Note(onset=a, duration=b - a, pitch=Pitch.parse("C4")) for a, b in ends]
    return " | ".join(" ".join(short(event) for event in bar.voices[0]) for bar in written_bars(notes, row))


@pytest.mark.parametrize(
    ("meter", "spans", "expected"),
    [
        ("4/4", "", "rW"),
        ("4/4", "0-1 1-2 2-3", "4 4 4 r4"),
        ("4/4", "0-1/3 1/3-2/3 2/3-1", "8t3b 8t3b 8t3b r4 r2"),
        ("4/4", "0-2/3 2/3-1", "4t3 8t3 r4 r2"),
        ("4/4", "0-2/3 2/3-4/3 4/3-2", "4t3 4t3 4t3 r2"),
        ("4/4", "0-1/6 1/6-1/3 1/3-1/2 1/2-1", "16t3b 16t3b 16t3b 8 r4 r2"),
        ("4/4", "0-1/4 1/4-1/2 1/2-3/4 3/4-1", "16b 16b 16b 16b r4 r2"),
        ("4/4", "0-1/5 1/5-1", "16t5 4t5 r4 r2"),
        ("4/4", "2/3-2", "r4t3 8t3~ 4 r2"),
        ("12/8", "0-1/2 1/2-1 1-3/2", "8b 8b 8b r4. r2."),
        ("12/8", "0-1/6 1/6-1/3 1/3-1/2", "16t3b 16t3b 16t3b r8 r8 r4. r2."),
        ("7/8", "0-1/2 1/2-1 1-3/2 3/2-2 2-5/2 5/2-3 3-7/2", "8b 8b 8b 8b 8b 8b 8b"),
        ("2/2", "0-2/3 2/3-4/3 4/3-2", "4t3 4t3 4t3 r2"),
        ("5/4", "0-1/2 1/2-1 3-5", "8b 8b r4 r4 2"),
    ],
)
def test_rhythms_are_written_as_read(meter: str, spans: str, expected: str) -> None:
    """Values, rests, triplets and beams of common rhythms (common practice)."""
    assert written(meter, *spans.split()) == expected


def test_a_note_over_the_bar_line_is_tied() -> None:
    """It is written once in each bar and joined."""
    assert written("4/4", "3-5", count=2) == "r2 r4 4~ | 4 r4 r2"


def events(row: tuple[WrittenBar, ...]) -> list[WrittenEvent]:
    """All events of all voices."""
    return [event for bar in row for voice in bar.voices for event in voice]


@settings(max_examples=15)
@given(lead_scores())
def test_every_voice_fills_its_bar(score: Score) -> None:
    """Written lengths follow each other and sum to the bar; values sound as long as they are written."""
    row = written_bars(score.parts[0].notes, score.measures)
    for bar in row:
        for voice in bar.voices:
            assert voice[0].onset == bar.measure.onset
            assert voice[-1].end == bar.measure.end
            assert all(one.end == other.onset for one, other in pairwise(voice))
    assert all(event.whole_bar or event.value.quarters == event.length for event in events(row))


@settings(max_examples=15)
@given(lead_scores())
def test_sounding_times_come_back_exactly(score: Score) -> None:
    """Nothing is lost between sounding and written time."""
    notes = score.parts[0].notes
    found = sounding(written_bars(notes, score.measures))
    assert found == {index: (note.onset, note.duration) for index, note in enumerate(notes)}


@settings(max_examples=15)
@given(lead_scores())
def test_ties_join_pieces_of_the_same_notes(score: Score) -> None:
    """A piece tied onward is met by one tied from before, at its end, with the same notes."""
    pieces = events(written_bars(score.parts[0].notes, score.measures))
    onward = {(event.end, event.indices) for event in pieces if event.tied_to}
    assert onward == {(event.onset, event.indices) for event in pieces if event.tied_from}


@settings(max_examples=15)
@given(lead_scores())
def test_tuplets_are_whole(score: Score) -> None:
    """The events under one bracket fill it."""
    for bar in written_bars(score.parts[0].notes, score.measures):
        for voice in bar.voices:
            for tuplet, run in groupby(voice, key=lambda event: event.tuplet):
                if tuplet is not None:
                    assert sum(event.length for event in run) == tuplet.length


@settings(max_examples=15)
@given(lead_scores())
def test_beams_hold_at_least_two_flagged_notes(score: Score) -> None:
    """A beam joins two or more neighbours shorter than a quarter."""
    for bar in written_bars(score.parts[0].notes, score.measures):
        for voice in bar.voices:
            for beam, run in groupby(voice, key=lambda event: event.beam):
                members = list(run)
                if beam is not None:
                    assert len(members) > 1
                    assert all(event.value.base >= 8 and not event.is_rest for event in members)


@given(st.data())
def test_what_a_band_plays_can_be_written(data: st.DataObject) -> None:
    """Snapped parts can be written, keep every note, and move no onset by more than a quarter of a beat."""
    measures = data.draw(measure_rows(2))
    part = data.draw(accompaniments(measures, PartRole.BASS))
    moved = snapped(part, measures[-1].end)
    assert len(moved.notes) == len(part.notes)
    assert sounding(written_bars(moved.notes, measures)).keys() == set(range(len(moved.notes)))
    for before, after in zip(part.notes, moved.notes, strict=True):
        assert abs(before.onset - after.onset) <= Fraction(1, 4)


def test_a_part_on_the_grid_stays_as_it_is() -> None:
    """Snapping moves nothing that can be written."""
    spans = [
        (Fraction(0), Fraction(1, 2)),
        (Fraction(1, 2), Fraction(1)),
        (Fraction(1), Fraction(4, 3)),
        (Fraction(4, 3), Fraction(2)),
        (Fraction(2), Fraction(9, 4)),
    ]
    notes = tuple(Note(onset=a, duration=b - a, pitch=Pitch.parse("A2")) for a, b in spans)
    part = Part(role=PartRole.BASS, name="Bass", notes=notes)
    assert snapped(part, Fraction(4)) == part


def test_voices_are_highest_first() -> None:
    """A bass note held under a line goes to the second voice."""
    score = two_voices()
    (bar,) = written_bars(score.parts[0].notes, score.measures)
    assert bar.numbers == (1, 2)
    assert [event.indices for event in bar.voices[1] if not event.is_rest] == [(0,)]


def test_a_note_past_the_end_is_refused() -> None:
    """Every note must lie inside the bars."""
    with pytest.raises(ValueError, match="past the last bar"):
        written("4/4", "3-5")


def test_a_beat_cut_by_eleven_is_refused() -> None:
    """Only tuplets of 3, 5, 7 and 9 are written."""
    with pytest.raises(ValueError, match="cannot be written"):
        written("4/4", "0-1/11")


def test_frets_count_from_the_capo() -> None:
    """The string behind the capo prints as 0; there is nothing behind it."""
    assert tab_fret(CAPO_GUITAR, StringFret(1, 3)) == 0
    assert tab_fret(CAPO_GUITAR, StringFret(1, 8)) == 5
    with pytest.raises(ValueError, match="behind the capo"):
        tab_fret(CAPO_GUITAR, StringFret(1, 2))


@pytest.mark.parametrize(
    ("fifths", "names", "expected"),
    [
        (0, "F#4 F#4 F4 F4", [0, 2]),
        (1, "F#4 F4 F#4", [1, 2]),
        (1, "F#4 F#5 F5", [2]),
        (-2, "Bb3 B3 Bb3 Bb4", [1, 2]),
        (5, "A#3 Fx3 E#4 E4", [1, 2, 3]),
        (0, "Fx4 F#4 F4", [0, 1, 2]),
    ],
)
def test_accidentals_are_printed_once_a_bar(fifths: int, names: str, expected: list[int]) -> None:
    """Only what differs from the key and from the bar so far is printed, octave by octave (common practice)."""
    notes = [
        Note(onset=Fraction(i), duration=Fraction(1), pitch=Pitch.parse(name)) for i, name in enumerate(names.split())
    ]
    row = written_bars(notes, bars("4/4", [[None]]))
    assert sorted(index for _, index in printed_accidentals(row, fifths)) == expected


def test_an_accidental_ends_with_its_bar_but_not_with_its_tie() -> None:
    """Tied over the bar line nothing is printed again; struck anew it is."""
    measures = bars("4/4", [[None], [None]])
    times = [(Fraction(3), Fraction(2)), (Fraction(5), Fraction(1)), (Fraction(6), Fraction(1))]
    notes = [Note(onset=a, duration=d, pitch=Pitch.parse("F#4")) for a, d in times]
    assert printed_accidentals(written_bars(notes, measures), 0) == {(0, 0), (1, 1)}
