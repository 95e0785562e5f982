"""Spoken directions: exact, complete, and free of signs that a voice cannot read."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from figure_cases import ROOTS, a_minor_open, charts, chord, counted_motifs, instrument, position, positions, scores
from hypothesis import given, settings
from test_strip import study

from phrasewright.engrave.chart_words import spoken_chart
from phrasewright.engrave.spoken import (
    spoken_beats,
    spoken_chord,
    spoken_count,
    spoken_degree,
    spoken_moment,
    spoken_motif,
    spoken_name,
    spoken_number,
    spoken_ordinal,
    spoken_position,
)
from phrasewright.engrave.words import LetteredMotif, spoken_exercise, words_text
from phrasewright.melody.motif import Motif
from phrasewright.neck.instrument import Hand
from phrasewright.neck.place import Position
from phrasewright.score.chart import Chart
from phrasewright.score.model import PartRole, Score
from phrasewright.theory.chord import CHORD_KINDS, Action, Alteration, Chord
from phrasewright.theory.count import Count, parse_count
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName

FOUR = Meter(4, 4)
SIGNS = re.compile(r"[♭♯#/&♮]|\bb\d")


@pytest.mark.parametrize(
    ("number", "words", "ordinal"),
    [
        (1, "one", "first"),
        (3, "three", "third"),
        (5, "five", "fifth"),
        (8, "eight", "eighth"),
        (9, "nine", "ninth"),
        (12, "twelve", "twelfth"),
        (19, "nineteen", "nineteenth"),
        (20, "twenty", "twentieth"),
        (22, "twenty-two", "twenty-second"),
        (36, "thirty-six", "thirty-sixth"),
        (120, "120", "120th"),
    ],
)
def test_numbers(number: int, words: str, ordinal: str) -> None:
    assert (spoken_number(number), spoken_ordinal(number)) == (words, ordinal)


@pytest.mark.parametrize(("name", "words"), [("F#", "F sharp"), ("Bb", "B flat"), ("A", "A"), ("Ebb", "E double flat")])
def test_names(name: str, words: str) -> None:
    assert spoken_name(NoteName.parse(name)) == words


@pytest.mark.parametrize(
    ("degree", "words"),
    [("1", "root"), ("b3", "flat third"), ("bb7", "double flat seventh"), ("#11", "sharp eleventh"), ("5", "fifth")],
)
def test_degrees(degree: str, words: str) -> None:
    assert spoken_degree(Degree.parse(degree)) == words


@pytest.mark.parametrize("kind", sorted(CHORD_KINDS))
def test_every_chord_kind_has_words(kind: str) -> None:
    """Each of the 31 kinds of MusicXML 4.0 can be said, and no two sound alike."""
    words = spoken_chord(chord("F#", kind, bass="C"))
    assert words.startswith("F sharp ")
    assert words.endswith(" over C")
    assert not SIGNS.search(words)
    others = {spoken_chord(chord("F#", other, bass="C")) for other in CHORD_KINDS if other != kind}
    assert words not in others


def test_altered_chords() -> None:
    assert spoken_chord(chord("F#", "half-diminished", bass="C")) == "F sharp minor seven flat five over C"
    assert spoken_chord(chord("G", "dominant", alter="b9")) == "G seven flat nine"
    changes = (Alteration(Action.ADD, Degree(9)), Alteration(Action.SUBTRACT, Degree(3)))
    nine = Chord(root=NoteName("C"), kind=CHORD_KINDS["major"], alterations=changes)
    assert spoken_chord(nine) == "C major add nine without the third"
    assert spoken_chord(None) == "no chord"


@pytest.mark.parametrize(
    ("length", "words"),
    [
        ("1", "one beat"),
        ("2", "two beats"),
        ("1/2", "half a beat"),
        ("3/2", "one and a half beats"),
        ("1/3", "a third of a beat"),
        ("5/3", "one and two thirds beats"),
        ("1/5", "1/5 of a beat"),
    ],
)
def test_stretches_of_time(length: str, words: str) -> None:
    assert spoken_beats(Fraction(length), Fraction(1)) == words


def test_moments_are_count_words() -> None:
    offsets = ("0", "3/2", "1/4", "11/4", "7/3", "8/3", "1/5")
    assert [spoken_moment(Fraction(offset), FOUR) for offset in offsets] == [
        "one",
        "the and of two",
        "the e of one",
        "the a of three",
        "the trip of three",
        "the let of three",
        "shortly after one",
    ]


def test_a_count_is_spoken_with_its_holds_and_rests() -> None:
    assert spoken_count(parse_count("1 2 3", FOUR)) == "one, two, three, then rest for one beat"
    assert spoken_count(parse_count("1 - &", FOUR)) == (
        "one, held for one and a half beats, the and of two, then rest for two beats"
    )
    assert spoken_count(parse_count("(1) & | 1", FOUR)) == (
        "rest for half a beat, the and of one, then rest for three beats, one of bar two, then rest for three beats"
    )


def test_the_open_position_reads_string_by_string() -> None:
    assert spoken_position(a_minor_open()).startswith(
        "Fifth string, the A string: open, which is the root; third fret with the ring finger, which is the flat "
        "third. Fourth string, the D string: open, which is the fourth; second fret with the middle finger"
    )
    assert spoken_position(a_minor_open()).endswith(
        "fifth fret with the little finger, which is the root, an added note."
    )


def test_capo_and_hand_are_said_first() -> None:
    laid = position(instrument(capo=3, hand=Hand.RIGHT), "C", low=3, high=6)
    words = spoken_position(laid)
    assert words.startswith("Put the capo at the third fret; frets are counted from the nut. The right hand frets")
    assert "open at the capo" in words


@given(positions().filter(lambda p: bool(p.notes)))
def test_every_note_of_a_position_is_said(laid: Position) -> None:
    words = spoken_position(laid)
    assert words.count("which is the") == len(laid.notes)
    assert not SIGNS.search(words)


@given(counted_motifs())
def test_every_note_of_a_motif_is_said(pair: tuple[Motif, Count]) -> None:
    motif, count = pair
    words = spoken_motif(motif, "A", count)
    assert not SIGNS.search(words)
    places = words.split("Play ")[1].split(". Count")[0]
    assert places.count("fret") + places.count("open") == len(motif.notes)


@given(scores())
@settings(max_examples=30)
def test_every_note_of_an_exercise_is_said_once(score: Score) -> None:
    words = spoken_exercise(score)
    notes = score.part(PartRole.LEAD).notes
    assert len(re.findall(r"(?:: |; )on ", words)) == len(notes)
    assert not SIGNS.search(re.sub(r"\d+/\d+", "", words))
    assert re.findall(r"Bar (\d+),", words) == [str(measure.number) for measure in score.measures]


@given(charts())
def test_every_bar_of_a_chart_is_covered(chart: Chart) -> None:
    spans = [(int(a), int(b or a)) for a, b in re.findall(r"Bars? (\d+)(?: to (\d+))?", spoken_chart(chart))]
    assert [n for first, last in spans for n in range(first, last + 1)] == list(range(1, len(chart.bars) + 1))


def test_a_lesson_in_words_has_its_sections_and_short_lines() -> None:
    motif = Motif(a_minor_open(), (0, 1, 2))
    text = words_text(
        title="Harbour Lane, lesson one",
        position=a_minor_open(),
        motifs=[LetteredMotif(letter="A", motif=motif, count=parse_count("1 2 3", FOUR))],
        exercises=[study(("0", "1"), ("1", "1"))],
    )
    headings = [above for above, below in pairwise(text.split("\n")) if below[:3] in ("===", "---")]
    assert headings == [
        "Harbour Lane, lesson one",
        "The place: A minor pentatonic, open position",
        "The motifs",
        "Exercise 1: Two calls",
    ]
    assert max(map(len, text.split("\n"))) <= 76
    assert text.endswith("rest.\n")


def test_words_begin_with_the_teacher_and_end_with_care() -> None:
    """The teacher's words come first, the study is no exercise, cautions come last; long words are not torn."""
    long_word = "Donaudampfschifffahrtsgesellschaftskapitänswitwenrentenauszahlungsstellenleiterin"
    text = words_text(
        title="One " * 30,
        position=a_minor_open(),
        studies=[study(("0", "1"), ("1", "1"))],
        paragraphs=("Breathe first.", long_word),
        cautions=("Stop when it hurts.",),
    )
    assert text.index("Breathe first.") < text.index("The place") < text.index("Two calls\n---------\n")
    assert long_word in text
    assert text.endswith("Take care\n---------\n\nStop when it hurts.\n")
    assert max(len(line) for line in text.split("\n") if line != long_word) <= 76


@pytest.mark.parametrize(
    ("label", "words"),
    [
        ("B", "motif B, "),
        ("B′", "motif B cut short, "),
        ("root", "the root of the chord, "),
        ("3rd", "the third of the chord, "),
        ("7th", "the seventh of the chord, "),
        ("chord tone", "a tone of the chord, "),
        ("", "on one, flat third"),
    ],
)
def test_what_is_framed_over_a_note_is_said_as_what_it_is(label: str, words: str) -> None:
    """A letter is a motif; landings name the tone of the chord they ask for."""
    score = study(("0", "1"))
    lead = score.part(PartRole.LEAD)
    notes = (replace(lead.notes[0], label=label, degree=Degree.parse("b3")), *lead.notes[1:])
    said = spoken_exercise(replace(score, parts=(replace(lead, notes=notes),)))
    assert words in said
    assert said.count("motif") == words.count("motif")


def test_all_roots_can_be_said() -> None:
    assert len({spoken_name(NoteName.parse(root)) for root in ROOTS}) == 12
