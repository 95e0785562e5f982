"""A line dressed with techniques: playable, sparing, the same music; and what hands can do at all.

The rules of what can be played are common practice; the positions are those that lessons find.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sample_scores
from phrasewright.compose.exercise import lead_score
from phrasewright.compose.touches import BENT_STRINGS, HowOften, TouchWish, dressed, suited
from phrasewright.lesson.plan import plan
from phrasewright.lesson.read import read_lesson
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.instrument import StringFret
from phrasewright.neck.place import Position, PositionStyle
from phrasewright.neck.request import PositionRequest
from phrasewright.neck.search import find_position
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Note, PartRole, Score
from phrasewright.score.technique import DEAD, PLAIN, Bend, Damping, Start, Technique, Touch
from phrasewright.score.touch_rules import fault, fretted_pitch, handed_on, mended
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName, Pitch
from phrasewright.theory.scale import SCALE_KINDS, Scale

A_MINOR = Scale(NoteName.parse("A"), SCALE_KINDS["minor-pentatonic"])
POSITIONS = {
    (kind, style): find_position(A_MINOR, instrument(kind), PositionRequest(style=style, fret=fret))
    for kind, style, fret in (
        ("guitar", PositionStyle.BOX, 5),
        ("guitar", PositionStyle.OPEN, None),
        ("guitar", PositionStyle.THREE_PER_STRING, 5),
        ("guitar", PositionStyle.ONE_STRING, None),
        ("bass", PositionStyle.BOX, 5),
        ("ukulele", PositionStyle.OPEN, None),
        ("mandolin", PositionStyle.BOX, 2),
    )
}
LENGTHS = [Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(3, 2), Fraction(2), Fraction(4)]
CHORDS = [Chord(root=NoteName.parse(root), kind=CHORD_KINDS[kind]) for root, kind in (("A", "minor"), ("E", "minor"))]


@st.composite
def lines(draw: st.DrawFn) -> tuple[Score, Position]:
    """A line of any of a position's notes, with rests, over one chord a bar."""
    meter = Meter.parse(draw(st.sampled_from(["4/4", "3/4", "6/8", "12/8", "7/8", "2/4"])))
    chart = Chart(meter=meter, bars=tuple(ChartBar(chords=((chord, meter.bar),)) for chord in CHORDS))
    position = draw(st.sampled_from(list(POSITIONS.values())))
    at, notes = draw(st.sampled_from([Fraction(0), Fraction(1)])), []
    end = 4 * meter.bar
    for spot in draw(st.lists(st.integers(0, len(position.notes) - 1), max_size=30)):
        length = draw(st.sampled_from(LENGTHS))
        if at + length > end:
            break
        one = position.notes[spot]
        notes.append(
            Note(onset=at, duration=length, pitch=one.pitch, place=one.place, finger=one.finger, degree=one.degree)
        )
        at += length + draw(st.sampled_from([Fraction(0), Fraction(0), Fraction(0), Fraction(1, 2), Fraction(2)]))
    return lead_score("Line", "", notes, bars=4, chart=chart, position=position), position


wishes = st.builds(
    TouchWish,
    techniques=st.sets(st.sampled_from(Technique)).map(lambda used: tuple(t for t in Technique if t in used)),
    how_often=st.sampled_from(HowOften),
)


@settings(max_examples=150)
@given(lines(), wishes, st.integers(0, 5))
def test_any_line_stays_the_same_music(line: tuple[Score, Position], wish: TouchWish, seed: int) -> None:
    """Pitches, onsets, lengths, degrees and labels stay; only dead notes are added, in silence; all can be played."""
    score, position = line
    plain, notes = score.part(PartRole.LEAD).notes, dressed(score, position, wish, seed=seed).parts[0].notes
    kept = [note for note in notes if note.touch != DEAD]
    same = [replace(note, touch=PLAIN, place=None, finger=None) for note in kept]
    assert same == [replace(note, place=None, finger=None) for note in plain]
    assert not any(fault(notes, index, position.instrument) for index in range(len(notes)))
    assert all(a.end <= b.onset for a, b in pairwise(notes))
    used = {technique for note in notes for technique in note.touch.techniques}
    assert used <= set(wish.techniques) & set(suited(position.instrument))


@given(lines(), wishes, st.integers(0, 5))
def test_dressing_is_repeatable(line: tuple[Score, Position], wish: TouchWish, seed: int) -> None:
    """The same line, wish and seed give the same touches."""
    assert dressed(*line, wish, seed=seed) == dressed(*line, wish, seed=seed)


@settings(max_examples=150)
@given(lines(), st.sampled_from(HowOften))
def test_bends_stand_where_players_bend(line: tuple[Score, Position], often: HowOften) -> None:
    """On chord tones that are held, on thin strings, from a note of the position, never with the index finger."""
    score, position = line
    notes = dressed(score, position, TouchWish(techniques=tuple(Technique), how_often=often), seed=1).parts[0].notes
    for index, note in enumerate(notes):
        if note.touch.bend is None or note.place is None:
            continue
        chord = score.chord_at(note.onset)
        assert chord is not None
        assert note.pitch.midi % 12 in chord.pitch_classes
        assert note.place.string <= BENT_STRINGS
        assert note.finger is not None
        assert note.finger >= 2
        assert position.note_at(note.place) is not None
        assert note.duration >= Fraction(1, 2)
        assert index == 0 or notes[index - 1].touch.bend is None


@settings(max_examples=150)
@given(lines(), st.sampled_from(HowOften))
def test_fingers_do_what_they_can(line: tuple[Score, Position], often: HowOften) -> None:
    """The finger that slides stays down; one that hammers stands in front, one that is pulled off to behind."""
    score, position = line
    notes = dressed(score, position, TouchWish(techniques=tuple(Technique), how_often=often), seed=2).parts[0].notes
    for before, note in pairwise(notes):
        if note.touch.start is Start.SLID:
            assert note.finger == before.finger
            assert before.touch.start is not Start.SLID
        if note.touch.start in (Start.HAMMERED, Start.PULLED) and before.finger and note.finger:
            assert note.finger > before.finger if note.touch.start is Start.HAMMERED else note.finger < before.finger


LESSON = """\
[lesson]
title = "Many ways to play"
school = "Harbour Lane Community Music School"
[scale]
root = "A"
[position]
fret = 5
[rhythm]
counts = ["1 & 2 3 -", "1 & 2 &", "1 & 2 -", "1 2 3 -"]
space = 0.2
[motifs]
largest_step = 2
[band]
form = "minor-vamp"
[study]
bars = 16
[lead]
techniques = ["hammer-on", "pull-off", "slide", "bend", "vibrato", "palm mute", "dead note"]
"""


def test_a_lesson_gets_what_it_asks_for() -> None:
    """Each technique comes at least once in a study of sixteen bars; asked for sparingly, there is less of it."""

    def touched(text: str) -> list[Note]:
        lesson = read_lesson(text, "touches.toml")
        return [note for note in plan(lesson).studies[0].score.parts[0].notes if note.touch != PLAIN]

    usual, sparing = touched(LESSON), touched(f'{LESSON}how_often = "sparing"\n')
    assert {technique for note in usual for technique in note.touch.techniques} == set(Technique)
    assert len(sparing) < len(usual)
    assert not touched(LESSON.partition("[lead]")[0])


def test_exercises_stay_plain() -> None:
    """Techniques belong to the studies and the track."""
    planned = plan(read_lesson(LESSON, "touches.toml"))
    notes = [note for exercise in planned.exercises for note in exercise.score.parts[0].notes]
    assert all(note.touch == PLAIN for note in notes)


# --- what can be played


def line(*notes: tuple[str, str, int, int, Touch]) -> list[Note]:
    """Notes from (onset, duration, string, fret, touch)."""
    made = []
    for onset, duration, string, fret, touch in notes:
        place = StringFret(string, fret)
        midi = sample_scores.GUITAR.midi_at(place) + (touch.bend.semitones if touch.bend else 0)
        pitch = Pitch.from_midi(
            midi, NoteName.parse(["C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"][midi % 12])
        )
        made.append(Note(onset=Fraction(onset), duration=Fraction(duration), pitch=pitch, place=place, touch=touch))
    return made


HAMMERED, PULLED, SLID = (Touch(start=start) for start in (Start.HAMMERED, Start.PULLED, Start.SLID))
BENT = Touch(start=Start.BENT, bend=Bend(semitones=2))


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        (("0", "1", 3, 5, PLAIN), ("1", "1", 3, 7, HAMMERED), ""),
        (("0", "1", 3, 7, PLAIN), ("1", "1", 3, 5, HAMMERED), "goes up"),
        (("0", "1", 3, 5, PLAIN), ("1", "1", 2, 8, HAMMERED), "no note on its string"),
        (("0", "1/2", 3, 5, PLAIN), ("1", "1", 3, 7, HAMMERED), "no note on its string"),
        (("0", "1", 3, 5, PLAIN), ("1", "1", 3, 12, HAMMERED), "do not reach"),
        (("0", "1", 3, 0, PLAIN), ("1", "1", 3, 7, HAMMERED), ""),
        (("0", "1", 3, 7, PLAIN), ("1", "1", 3, 5, PULLED), ""),
        (("0", "1", 3, 7, PLAIN), ("1", "1", 3, 0, PULLED), ""),
        (("0", "1", 3, 5, PLAIN), ("1", "1", 3, 7, PULLED), "pull-off down"),
        (("0", "1", 3, 5, PLAIN), ("1", "1", 3, 10, SLID), ""),
        (("0", "1", 3, 0, PLAIN), ("1", "1", 3, 5, SLID), "open string"),
        (("0", "1", 3, 5, PLAIN), ("1", "1", 3, 5, SLID), "1 to 12 frets"),
        (("0", "1", 3, 5, BENT), ("1", "1", 3, 7, HAMMERED), "dead or bent"),
        (("0", "1", 3, 5, DEAD), ("1", "1", 3, 7, HAMMERED), "dead or bent"),
        (("0", "1", 3, 5, PLAIN), ("1", "1", 3, 0, BENT), "open string"),
        (("0", "1", 3, 5, PLAIN), ("1", "1", 3, 0, Touch(vibrato=True)), "open string"),
    ],
)
def test_what_hands_can_do(first: tuple, second: tuple, words: str) -> None:
    """A note's touch against the note before it."""
    notes = line(first, second)
    found = fault(notes, 1, sample_scores.GUITAR)
    assert (words in found) if words else found == ""
    played = mended(notes, sample_scores.GUITAR)
    assert not fault(played, 1, sample_scores.GUITAR)
    assert (played[1] == notes[1]) is (words == "")
    assert handed_on(played) == ({0} if played[1].touch.is_legato else set())


@pytest.mark.parametrize(
    "wrong",
    [
        {"start": Start.BENT},
        {"bend": Bend(semitones=1)},
        {"damping": Damping.PALM, "vibrato": True},
        {"damping": Damping.DEAD, "start": Start.HAMMERED},
        {"damping": Damping.DEAD, "start": Start.BENT, "bend": Bend(semitones=1)},
    ],
)
def test_touches_that_contradict_themselves_are_refused(wrong: dict) -> None:
    """A touch that exists makes sense by itself."""
    with pytest.raises(ValueError):
        Touch(**wrong)


@pytest.mark.parametrize("wrong", [{"semitones": 0}, {"semitones": 3}, {"semitones": 1, "arrives": Fraction(0)}])
def test_bends_have_their_bounds(wrong: dict) -> None:
    """Up by one or two semitones, within the note."""
    with pytest.raises(ValueError):
        Bend(**wrong)


@pytest.mark.parametrize(
    ("name", "semitones", "below"),
    [("A4", 2, "G4"), ("C5", 2, "Bb4"), ("C5", 1, "B4"), ("F4", 2, "Eb4"), ("B3", 2, "A3")],
)
def test_a_bend_begins_on_a_plainly_spelled_note(name: str, semitones: int, below: str) -> None:
    """The fretted pitch of a bent note."""
    note = Note(
        onset=Fraction(0),
        duration=Fraction(1),
        pitch=Pitch.parse(name),
        touch=Touch(start=Start.BENT, bend=Bend(semitones=semitones)),
    )
    assert fretted_pitch(note) == Pitch.parse(below)
