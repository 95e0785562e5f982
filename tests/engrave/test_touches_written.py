"""Touches as they are written: MusicXML by the W3C schema and music21, text tablature, spoken words."""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction
from pathlib import Path

import music21
import pytest
from hypothesis import HealthCheck, given, settings
from lxml import etree

import sample_scores
from musicxml_reading import fretted, load_schema, placed, sounded, wanted
from phrasewright.engrave.musicxml import to_musicxml
from phrasewright.engrave.text_tab import score_tab
from phrasewright.engrave.words import spoken_bar
from phrasewright.engrave.worker import Engraver
from phrasewright.score.model import Score
from phrasewright.score.performance import Performance
from strategies import touched_scores

SCORE = sample_scores.touched()
SLOW = settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])


@pytest.fixture(scope="module")
def schema(data_dir: Path) -> etree.XMLSchema:
    """MusicXML 4.0 XSD, W3C Music Notation Community Group."""
    return load_schema(data_dir)


def tree(score: Score) -> etree._Element:
    return etree.fromstring(to_musicxml(score, Performance(tempo_bpm=90.0)).encode())


# --- MusicXML


def test_the_sample_is_valid(schema: etree.XMLSchema) -> None:
    """Every touch at once validates."""
    assert schema.validate(tree(SCORE)), schema.error_log


@SLOW
@given(score=touched_scores())
def test_any_touches_are_valid(schema: etree.XMLSchema, score: Score) -> None:
    """Touches on any line, tied over bar lines too, validate; every start has its stop in order."""
    root = tree(score)
    assert schema.validate(root), schema.error_log
    for name in ("hammer-on", "pull-off", "slide", "slur", "wavy-line"):
        for staff in ("1", "2"):
            marks = root.xpath(f"//note[staff='{staff}']//{name}/@type")
            assert [str(mark) for mark in marks] == ["start", "stop"] * (len(marks) // 2), name


def notes_of(staff: str) -> list[etree._Element]:
    return list(tree(SCORE).xpath(f"//note[staff='{staff}' and not(rest) and not(tie/@type='stop')]"))


def test_the_tablature_says_what_the_hands_do() -> None:
    """Hammer-ons, pull-offs and slides lead from note to note; a bend lifts its fret's pitch to the written one."""
    tab = notes_of("2")
    assert tab[0].findtext(".//hammer-on[@type='start']") == "H"
    assert tab[1].find(".//hammer-on[@type='stop']") is not None
    assert tab[1].findtext(".//pull-off[@type='start']") == "P"
    assert tab[2].find(".//pull-off[@type='stop']") is not None
    assert tab[12].find(".//slide[@type='start']") is not None
    assert tab[13].find(".//slide[@type='stop']") is not None
    assert tab[4].findtext(".//bend-alter") == "2"
    assert (tab[4].findtext("pitch/step"), tab[4].findtext("pitch/octave")) == ("G", "4")
    assert (notes_of("1")[4].findtext("pitch/step"), notes_of("1")[4].findtext("pitch/octave")) == ("A", "4")
    assert tab[10].findtext("notehead") == "x"
    assert [note.findtext("play/mute") for note in tab[4:10]] == [None, "palm", "palm", "palm", "palm", None]
    assert [words.text for words in tree(SCORE).iterfind(".//direction[staff='2']//words")] == ["P.M."]


def test_a_tied_note_is_joined_by_its_last_piece() -> None:
    """The pull-off after a note held over the bar line starts where that note ends."""
    tied = tree(SCORE).xpath("//note[staff='2' and tie/@type]")
    assert [bool(note.findall(".//pull-off[@type='start']")) for note in tied] == [False, True]


def test_music21_reads_the_touches() -> None:
    """Places, pitches and times come back, and from note to note what the hands do, both staves together."""
    part = SCORE.parts[0]
    read = music21.converter.parseData(to_musicxml(SCORE), format="musicxml")
    notation, tab = read.parts
    assert sounded(notation) == wanted(part)
    assert fretted(tab) == placed(part)
    bends = [
        (Fraction(element.offset), mark.bendAlter.semitones)
        for element in tab.flatten().notes
        for mark in element.articulations
        if isinstance(mark, music21.articulations.FretBend)
    ]
    assert bends == [(Fraction(2), 2), (Fraction(12), 2)]
    joins = Counter(type(one).__name__ for one in read.recurse().getElementsByClass(music21.spanner.Spanner))
    del joins["StaffGroup"]
    assert joins == {"HammerOn": 2, "PullOff": 3, "Slur": 6, "Glissando": 2, "TrillExtension": 6}


def test_the_engraver_reads_the_musicxml() -> None:
    """The engraver takes the file in, and hears every note where it stands."""
    with Engraver() as engraver:
        onsets = engraver.onsets(to_musicxml(SCORE))
    for index, note in enumerate(SCORE.parts[0].notes):
        assert onsets[f"n{index}"] == pytest.approx(float(note.onset), abs=1e-3)


# --- text


def test_the_signs_of_text_tablature() -> None:
    """h, p, slashes, b with the fret it sounds like, ~, x and PM stand with their notes; the legend names them."""
    text = score_tab(SCORE, width=100)
    assert re.search(r"G\|-5-*h7-*p5-", text)
    assert re.search(r"B\|-+8b10~-", text)
    assert re.search(r"G\|.*-5~-", text)
    assert re.search(r"G\|-7b9-", text)
    assert re.search(r"D\|.*-x-7-+\|-+p5-+/7-", text)
    assert re.search(r"(?m)^ +PM-{5}$", text)
    assert re.search(r"B\|[^|]*5-*h8-*p5~-", text)
    assert text.rstrip().split("\n\n")[-1].startswith("h hammer-on; p pull-off; / \\ slide; 7b9 bend fret 7")


@settings(max_examples=20)
@given(score=touched_scores())
def test_text_keeps_its_width_and_its_bar_lines(score: Score) -> None:
    """However notes are played, lines stay within the width and all strings are equally long."""
    for block in score_tab(score, width=60).split("\n\n"):
        lines = block.split("\n")
        assert max(map(len, lines)) <= 60
        assert len({len(row) for row in lines if "|" in row}) <= 1


# --- words


def test_touches_are_said() -> None:
    """A blind student hears what the hands do, at the place where they do it."""
    bars = [spoken_bar(measure, SCORE.parts[0]) for measure in SCORE.measures]
    assert "fourth, hammer on to the third string, seventh fret" in bars[0]
    assert "flat third, pull off to the third string, fifth fret" in bars[0]
    assert "root, second string, eighth fret, bent up a whole tone, with vibrato" in bars[0]
    assert "sixth string, eighth fret, palm muted" in bars[1]
    assert "a dead note, fourth string" in bars[1]
    assert "root, slide to the fourth string, seventh fret" in bars[2]
