"""Short facts, and the handout's content: plain words, and pictures that can be read on paper."""

from __future__ import annotations

import re
from hashlib import sha256
from pathlib import Path

import pypdfium2
import pytest

from phrasewright.app.facts import bits_text, fit_words, lesson_facts
from phrasewright.app.figures import draw_figures
from phrasewright.app.handout import LEAST_SHARE, sheet_of
from phrasewright.app.planning import plan_source
from phrasewright.app.source import LessonSource
from phrasewright.app.workshop import Workshop
from phrasewright.engrave.handout.pdf import COLUMN_MM, handout_pdf, needs_system_fonts
from phrasewright.engrave.handout.sheet import Paper, Sheet
from phrasewright.lesson.plan import LessonPlan
from phrasewright.melody.fit_table import fit_table

LESSON = """
[lesson]
title = "{title}"
words = "{words}"
[scale]
root = "E"
kind = "{kind}"
[position]
style = "{style}"
[motifs]
shelf = 3
[[motifs.written]]
degrees = "1 b3 4"
name = "the lighthouse"
[band]
chart = "{chart}"
[exercises]
kinds = ["running"]
"""
CROWDED = "| Em7 | F#m7b5 B7(b9) | Em9 Am6 | Cmaj7 A7 | Dm7 G7 | Gmaj9 N.C. |"


def planned(**changes: str) -> LessonPlan:
    words = {"title": "Air", "words": "Play.", "kind": "minor-pentatonic", "style": "open", "chart": "| Em7 | A7 |"}
    content = LESSON.format(**words | changes).encode()
    return plan_source(LessonSource(path=Path("air.toml"), content=content, sha256=sha256(content).hexdigest()))


def sheet(plan: LessonPlan) -> Sheet:
    workshop = Workshop(plan)
    exercises, studies = workshop.pieces.exercises, workshop.pieces.studies
    return sheet_of(plan, exercises, studies, draw_figures(plan, (*exercises, *studies)), digest="0" * 10)


@pytest.mark.parametrize(
    ("bits", "text"), [(0.42, "+0.4"), (-0.42, "−0.4"), (0.04, "0.0"), (-0.04, "0.0"), (1.0, "+1.0"), (-2.35, "−2.4")]
)
def test_bits_are_one_decimal_with_a_true_sign(bits: float, text: str) -> None:
    """A minus is a minus and zero has no sign."""
    assert bits_text(bits) == text


def test_the_place_is_said_in_frets() -> None:
    """Which frets, whether strings are open, and the reach of the hand only where it is wide."""
    assert dict(lesson_facts(planned()))["Place"] == "open position, 12 notes; frets 2 to 3 and open strings"
    box = dict(lesson_facts(planned(style="box")))["Place"]
    assert "frets " in box
    assert "open strings" not in box
    assert "the hand spans" in box


def test_a_fit_does_not_name_its_chord_again() -> None:
    """The chord stands beside the words, so they leave it out, whatever the note's role."""
    plan = planned(chart=CROWDED)
    cells = [cell for row in fit_table(plan.shelf, plan.lesson.chart) for cell in row.cells]
    assert cells
    assert not [cell for cell in cells if cell.chord.printed in fit_words(cell)]


def test_pictures_side_by_side_can_be_read() -> None:
    """They share one scale, fit the column, and are never so small that letters fall under 7.5 points."""
    made = sheet(planned(chart=CROWDED))
    for row in (made.motifs, made.chord_tones):
        assert row.columns * max(picture.width_mm for picture in row.pictures) <= COLUMN_MM
        for picture in row.pictures:
            own_mm = float(picture.svg.partition('width="')[2].partition("mm")[0])
            assert picture.width_mm >= LEAST_SHARE * own_mm - 0.01
    assert made.motifs.pictures[0].name == "the lighthouse"


def test_words_stay_on_the_paper() -> None:
    """A word longer than the line is broken, markup is printed as written, and ten chords part into tables."""
    word = "Harbourlanecommunitymusicschoolimprovisation" * 4
    made = sheet(planned(words=f"#strong[x] $y$ {word}", title="*Air* & <b>", chart=CROWDED))
    pdf = pypdfium2.PdfDocument(handout_pdf(made, Paper.A4))
    text = ""
    for page in pdf:
        letters = page.get_textpage()
        text += letters.get_text_range()
        edges = [letters.get_charbox(index)[2] for index in range(letters.count_chars())]
        assert max(edges) <= page.get_width() - 10 / 25.4 * 72
    pdf.close()
    for words in ("#strong[x] $y$", "*Air* & <b>", "F♯m7♭5"):
        assert words in text


def test_flats_are_as_tall_as_letters_and_numbers_stand_in_columns() -> None:
    """A flat rises at least as high as the figure behind it; the numbers of the fit table end at few places."""
    plan = planned(chart=CROWDED)
    pdf = pypdfium2.PdfDocument(handout_pdf(sheet(plan), Paper.A4))
    flats, ends = 0, set()
    for page in pdf:
        letters = page.get_textpage()
        text = "".join(letters.get_text_range(index, 1) for index in range(letters.count_chars()))
        for match in re.finditer("♭[0-9]", text):
            flat, figure = (letters.get_charbox(index) for index in (match.start(), match.start() + 1))
            assert flat[3] - flat[1] >= figure[3] - figure[1]
            flats += 1
        ends |= {round(letters.get_charbox(match.end() - 1)[2]) for match in re.finditer(r"[+−]\d\.\d", text)}
    pdf.close()
    chords = len(plan.lesson.chart.chords)
    assert flats > 3
    assert 1 < len(ends) <= 2 * chords


@pytest.mark.parametrize(
    ("words", "needed"),
    [("Zoë Łukasiewicz – «Гавань» ελληνικά ♭♯ ½", False), ("三つの音", True), ("Blues 🎸", True), ("", False)],
)
def test_letters_beyond_our_fonts_are_noticed(words: str, needed: bool) -> None:
    """European letters need nothing from the machine; Japanese and emoji do."""
    assert needs_system_fonts(words) is needed
