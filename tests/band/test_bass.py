"""Bass lines: in range, on the root, approaches resolved, the same line in every key."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest
from band_strategies import BLUES, PAIRS, TURN, bars_in, jobs, notes_of, unfolded
from hypothesis import assume, given
from hypothesis import strategies as st

from phrasewright.band.arrange import accompany
from phrasewright.band.bass import bass_line
from phrasewright.band.bass_neck import HIGHEST_MIDI, LOWEST_MIDI
from phrasewright.band.bass_slots import bass_note_of, bass_slots
from phrasewright.band.form import Ending, plan_bars
from phrasewright.band.groove import GROOVES, Groove
from phrasewright.band.groove_model import BassStyle
from phrasewright.band.tones import passing_tones
from phrasewright.score.chart import MOST_FIFTHS
from phrasewright.score.model import Measure, Note, PartRole
from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.interval import Interval
from phrasewright.theory.pitch import NoteName

SWING = GROOVES["swing"]


def line(
    measures: tuple[Measure, ...], groove: Groove, seed: int = 0, ending: Ending = Ending.LOOP
) -> tuple[Note, ...]:
    return notes_of(accompany(measures, groove, seed=seed, ending=ending), PartRole.BASS)


@given(jobs(), st.integers(0, 9), st.sampled_from(Ending))
def test_the_line_fits_bars_and_range(job: tuple[tuple[Measure, ...], Groove], seed: int, ending: Ending) -> None:
    """Notes lie inside their chord's span, never overlap, and stay between E1 and G3."""
    measures, groove = job
    notes = line(measures, groove, seed, ending)
    spans = [span for measure in measures for span in measure.chords]
    for note in notes:
        assert LOWEST_MIDI <= note.pitch.midi <= HIGHEST_MIDI
        span = next(span for span in reversed(spans) if span.onset <= note.onset)
        assert span.chord is not None
        assert groove.bass_style is BassStyle.PEDAL or note.end <= span.onset + span.duration
    for first, second in pairwise(notes):
        assert first.end <= second.onset


@given(jobs(), st.integers(0, 9), st.sampled_from(Ending))
def test_every_chord_begins_on_its_bass(job: tuple[tuple[Measure, ...], Groove], seed: int, ending: Ending) -> None:
    """A note stands at the start of every chord: the root or slash bass when it is new, else a chord tone.

    A riff goes on as it is written over a chord that is only written again.
    """
    measures, groove = job
    assume(groove.plan(measures[0].meter).bass and groove.bass_style is not BassStyle.PEDAL)
    notes = {note.onset: note for note in line(measures, groove, seed, ending)}
    previous: Chord | None = None
    for span in (span for measure in measures for span in measure.chords):
        if span.chord is None:
            continue
        played = notes[span.onset].pitch.name.pitch_class
        if span.chord != previous:
            assert played == bass_note_of(span.chord).pitch_class
        in_chord = played in span.chord.pitch_classes | {bass_note_of(span.chord).pitch_class}
        assert in_chord or groove.bass_style is BassStyle.RIFF
        previous = span.chord


@given(jobs(), st.integers(0, 9))
def test_approaches_resolve(job: tuple[tuple[Measure, ...], Groove], seed: int) -> None:
    """A note outside the chord's scale goes on by a half or whole step to the next root, or falls to it by a fifth."""
    measures, groove = job
    bars = plan_bars(measures, rng=Random(f"form {seed}"), ending=Ending.LOOP)
    slots = bass_slots(bars, groove)
    notes = bass_line(bars, groove, rng=Random(f"bass {seed}"))
    assert len(slots) == len(notes)
    for place, (slot, note) in enumerate(zip(slots, notes, strict=True)):
        if slot.role != "A":
            scale = {name.pitch_class for name in passing_tones(slot.chord, slot.around)}
            assert note.pitch.name.pitch_class in scale | slot.chord.pitch_classes
            continue
        following = notes[(place + 1) % len(notes)]
        distance = (following.pitch.midi - note.pitch.midi) % 12
        assert distance in (1, 2, 5, 10, 11)
        if distance != 5 and place + 1 < len(notes):
            assert abs(following.pitch.midi - note.pitch.midi) <= 2


def moved(measures: tuple[Measure, ...], interval: Interval) -> tuple[Measure, ...]:
    """The same bars in another key."""

    def transpose(chord: Chord | None) -> Chord | None:
        if chord is None:
            return None
        bass = None if chord.bass is None else interval.above_name(chord.bass)
        return Chord(root=interval.above_name(chord.root), kind=chord.kind, alterations=chord.alterations, bass=bass)

    return tuple(
        Measure(
            number=measure.number,
            onset=measure.onset,
            meter=measure.meter,
            section=measure.section,
            chords=tuple(type(s)(onset=s.onset, duration=s.duration, chord=transpose(s.chord)) for s in measure.chords),
        )
        for measure in measures
    )


@given(st.sampled_from(PAIRS).flatmap(lambda pair: st.tuples(bars_in(pair[1]), st.just(pair[0]))), st.data())
def test_another_key_has_the_same_line(job: tuple[tuple[Measure, ...], Groove], data: st.DataObject) -> None:
    """Moving the chart moves the pitch class of every note alike, and no note in time."""
    measures, groove = job
    interval = Interval.parse(data.draw(st.sampled_from(["m2", "M2", "m3", "M3", "P4", "A4", "P5", "M6", "m7"])))
    seed = data.draw(st.integers(0, 9))
    roots = [span.chord.root for measure in measures for span in measure.chords if span.chord is not None]
    assume(all(abs(interval.above_name(root).fifths) <= MOST_FIFTHS for root in roots))  # E double sharp is no key
    here, there = line(measures, groove, seed), line(moved(measures, interval), groove, seed)
    assert [(note.onset, note.duration) for note in here] == [(note.onset, note.duration) for note in there]
    for one, other in zip(here, there, strict=True):
        assert (other.pitch.midi - one.pitch.midi - interval.semitones) % 12 == 0


@pytest.mark.parametrize("seed", range(6))
def test_walking_lines_walk(seed: int) -> None:
    """A walking line moves mostly by steps and small skips, seldom repeats, and never leaps past an octave."""
    notes = line(unfolded(BLUES, choruses=2), SWING, seed)
    beats = [note for note in notes if note.onset % 1 == 0]
    moves = [abs(b.pitch.midi - a.pitch.midi) for a, b in pairwise(beats)]
    assert sum(move <= 5 for move in moves) / len(moves) > 0.75
    assert sum(move == 0 for move in moves) / len(moves) < 0.12
    assert max(moves) <= 12
    assert len(beats) / len(notes) > 0.85


@pytest.mark.parametrize("groove", [g for g, m in PAIRS if str(m) == "4/4" and g.plan(m).bass], ids=lambda g: g.id)
def test_final_bar_is_one_root(groove: Groove) -> None:
    """A final ending holds the last root for the whole bar."""
    measures = unfolded(TURN)
    last = [note for note in line(measures, groove, 1, Ending.FINAL) if note.onset >= measures[-1].onset]
    held = "E" if groove.bass_style is BassStyle.PEDAL else "B"
    assert [(note.pitch.name, note.duration) for note in last] == [(NoteName(held), Fraction(4))]


def test_no_chord_is_silence() -> None:
    """Where no chord sounds the bass rests."""
    measures = unfolded("Am7 | N.C. | D7")
    assert not [note for note in line(measures, SWING) if 4 <= note.onset < 8]
    assert line(unfolded("N.C. | N.C."), SWING) == ()


@pytest.mark.parametrize(
    ("symbol", "names"),
    [
        ("Cmaj7", "C D E F G A B"),
        ("C7", "C D E F G A Bb"),
        ("Cm7", "C D Eb F G A Bb"),
        ("Cm7b5", "C Db Eb F Gb Ab Bb"),
        ("Cdim7", "C D Eb F Gb Ab Bbb"),
        ("C7b9", "C Db E F G A Bb"),
        ("C7#11", "C D E F# G A Bb"),
        ("Cmaj7#11", "C D E F# G A B"),
        ("C", "C D E F G A B"),
        ("Cm", "C D Eb F G A Bb"),
        ("C7(b9,b13)", "C Db E F G Ab Bb"),
    ],
)
def test_passing_tones(symbol: str, names: str) -> None:
    """The scale a bass walks through is the usual one for the chord, bent by its alterations (common practice)."""
    assert " ".join(str(name) for name in passing_tones(parse_chord(symbol))) == names


@pytest.mark.parametrize(
    ("symbol", "others", "names"),
    [
        ("B7", "Em Am7", "B C D# E F# G A"),
        ("E7", "A7 D7", "E F# G# A B C# D"),
        ("Fmaj7", "C Am7 G7", "F G A B C D E"),
        ("Em7", "Cmaj7 F G7", "E F G A B C D"),
        ("Am7", "Dm7 G7 C", "A B C D E F G"),
        ("Bm7", "E7 Amaj7", "B C# D E F# G# A"),
    ],
)
def test_neighbouring_chords_tell_the_key(symbol: str, others: str, names: str) -> None:
    """The dominant of a minor key walks through its flat second and sixth, the fourth degree's chord through #4."""
    around = frozenset(pc for other in others.split() for pc in parse_chord(other).pitch_classes)
    assert " ".join(str(name) for name in passing_tones(parse_chord(symbol), around)) == names


def test_part_says_what_it_is() -> None:
    """The bass part has its role, voice and instrument."""
    part = accompany(unfolded(TURN), SWING, seed=0).parts[1]
    assert (part.role, part.voice) == (PartRole.BASS, "bass")
    assert part.instrument is not None
