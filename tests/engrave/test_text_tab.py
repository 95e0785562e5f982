"""Text tablature: what is written can be read back, lines keep their width, bars line up."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from figure_cases import a_minor_open, scores
from hypothesis import given, settings
from hypothesis import strategies as st
from test_strip import study

from phrasewright.engrave.text_tab import score_tab, text_tab
from phrasewright.neck.instrument import StringFret
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Note, Part, PartRole, Score
from phrasewright.theory.meter import Meter


def read_back(text: str, strings: int) -> list[StringFret]:
    """The places of a text tablature in reading order (one note at a time)."""
    rows = [""] * strings
    for block in text.split("\n\n"):
        lines = [line for line in block.split("\n") if re.match(r" *[A-G][#b]*\|", line)]
        assert len(lines) == strings
        for index, line in enumerate(lines):
            rows[index] += line.split("|", 1)[1]
    assert len({len(row) for row in rows}) == 1
    found = [(m.start(), StringFret(i + 1, int(m[0]))) for i, row in enumerate(rows) for m in re.finditer(r"\d+", row)]
    return [place for _, place in sorted(found)]


def _printed(note: Note, capo: int) -> StringFret:
    assert note.place is not None
    return StringFret(note.place.string, note.place.fret - capo)


@given(scores(), st.integers(24, 120))
@settings(max_examples=80)
def test_the_same_places_are_read_back_in_order(score: Score, width: int) -> None:
    lead = score.part(PartRole.LEAD)
    assert lead.instrument is not None
    text = score_tab(score, width=width)
    assert read_back(text, len(lead.instrument.tuning)) == [_printed(note, lead.instrument.capo) for note in lead.notes]


@given(scores(), st.integers(24, 120))
def test_no_line_is_wider_than_asked(score: Score, width: int) -> None:
    assert max(map(len, score_tab(score, width=width).split("\n"))) <= width


@given(scores())
def test_every_bar_ends_with_a_bar_line_on_every_string(score: Score) -> None:
    lead = score.part(PartRole.LEAD)
    assert lead.instrument is not None
    strings = len(lead.instrument.tuning)
    text = score_tab(score)
    assert text.count("|") == strings * (len(score.measures) + text.count("\n\n") + 1)
    assert text.endswith("\n")


def test_a_small_example_reads_as_printed() -> None:
    assert score_tab(study(("0", "1"), ("1/2", "1/2"), ("1", "1"), bars=1)) == (
        "Bar 1\n"
        "   Am7\n"
        "E|-----------------|\n"
        "B|-----------------|\n"
        "G|-----------------|\n"
        "D|-----0-----------|\n"
        "A|-0-3-------------|\n"
        "E|-----------------|\n"
        "   1 & 2   3   4\n"
    )


def test_beats_past_nine_keep_both_digits() -> None:
    chart = Chart(meter=Meter(12, 8), bars=(ChartBar(chords=((None, Fraction(6)),)),))
    lead = study(("0", "1/2")).part(PartRole.LEAD)
    assert " 9  10 11 12\n" in text_tab(lead, chart.unfold(1))


def test_two_digit_frets_keep_a_dash_between_them() -> None:
    place = a_minor_open().notes[0]
    notes = tuple(
        Note(onset=Fraction(i, 2), duration=Fraction(1, 2), pitch=place.pitch, place=StringFret(1, fret))
        for i, fret in enumerate((12, 10, 9))
    )
    score = study(("0", "1"), bars=1)
    part = Part(role=PartRole.LEAD, name="lead", notes=notes, instrument=a_minor_open().instrument)
    assert "E|-12-10-9-" in text_tab(part, score.measures)


def test_a_bar_that_fits_no_line_is_folded_and_says_so() -> None:
    spans = [(str(Fraction(i, 4)), "1/4") for i in range(9)]
    text = score_tab(study(*spans, bars=1), width=24)
    assert "Bar 1 (continued)" in text


def test_parts_without_strings_or_places_are_refused() -> None:
    score = study(("0", "1"))
    note = Note(onset=Fraction(0), duration=Fraction(1), pitch=a_minor_open().notes[0].pitch)
    with pytest.raises(ValueError, match="no strings"):
        text_tab(Part(role=PartRole.LEAD, name="lead", notes=(note,)), score.measures)
    instrument = a_minor_open().instrument
    with pytest.raises(ValueError, match="no place"):
        text_tab(Part(role=PartRole.LEAD, name="lead", notes=(note,), instrument=instrument), score.measures)
    with pytest.raises(ValueError, match="24 signs"):
        score_tab(score, width=10)
