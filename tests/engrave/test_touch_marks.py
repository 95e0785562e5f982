"""Touches drawn on the tablature: every one is seen, clear of the notes over it and of each other."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given, settings
from lxml import etree

import sample_scores
from phrasewright.engrave.geometry import Extent, extents, glyph_extents
from phrasewright.engrave.mei import to_mei
from phrasewright.engrave.outlines import EM, Run, Style, width_of
from phrasewright.engrave.systems import System, engrave_score
from phrasewright.engrave.worker import Engraver
from phrasewright.score.model import Score
from phrasewright.score.technique import Start, Technique
from strategies import touched_scores

WRITTEN = ["H", "H", "P", "P", "P", "P.M.", "full", "full"]
NARROW = {"width_mm": 100.0, "bars_per_system": 2}


@pytest.fixture(scope="module")
def engraver() -> Iterator[Engraver]:
    with Engraver() as one:
        yield one


def roots(score: Score, engraver: Engraver, **layout: float) -> list[etree._Element]:
    systems: tuple[System, ...] = engrave_score(score, id_prefix="x-", engraver=engraver, **layout).systems  # type: ignore[arg-type]
    return [etree.fromstring(system.svg.encode()) for system in systems]


def marks(root: etree._Element, index: int) -> list[etree._Element]:
    return list(root.xpath(f"//*[@class='touch' and @data-note='{index}']"))


def words(root: etree._Element) -> list[str]:
    return [str(word) for word in root.xpath("//*[@class='touch']/@data-text")]


def box_of(element: etree._Element) -> Extent:
    """Extent of a mark; a word is boxed by its letters' places."""
    if element.get("d"):
        return next(extents(element, {}))
    x, y, scale = (float(number) for number in re.findall(r"-?[\d.]+", str(element[0].get("transform"))))
    width = width_of([Run(str(element.get("data-text")), scale * EM, Style.ITALIC)])
    return Extent(x, y - 0.68 * scale * EM, x + width, y)


def top_string(root: etree._Element) -> float:
    return min(box.y0 for path in root.xpath("//*[@class='string']") for box in extents(path, {}))


def notation_floor(root: etree._Element, x0: float, x1: float) -> float:
    """Lowest ink of the notation staff, its slurs and ties over a stretch."""
    glyphs = glyph_extents(root[0])
    groups = root.xpath("//*[@class='measure']/*[@class='staff' or @class='tie' or @class='slur']")
    over = [group for group in groups if not group.xpath("./*[@class='string']")]
    boxes = [box for group in over for box in extents(group, glyphs)]
    return max((box.y1 for box in boxes if box.x0 < x1 and x0 < box.x1), default=0.0)


@pytest.mark.parametrize("layout", [{}, NARROW])
def test_every_touch_of_the_sample_is_seen(layout: dict[str, float], engraver: Engraver) -> None:
    """Letters, bends, waves, palm mutes; a crossed head and an X for the dead note."""
    drawn = roots(sample_scores.touched(), engraver, **layout)
    assert sorted(word for root in drawn for word in words(root)) == WRITTEN
    for index, note in enumerate(sample_scores.touched().parts[0].notes):
        here = [mark for root in drawn for mark in marks(root, index)]
        used = set(note.touch.techniques) - {Technique.DEAD_NOTE, Technique.PALM_MUTE}
        assert bool(here) == bool(used) or Technique.PALM_MUTE in note.touch.techniques, (index, note.touch)
    digits = [str(text) for root in drawn for text in root.xpath("//*[@id='x-t10']/*/@data-text")]
    assert digits == ["X"]


@pytest.mark.parametrize("layout", [{}, NARROW])
def test_marks_of_the_sample_keep_clear(layout: dict[str, float], engraver: Engraver) -> None:
    """No letter, wave or arrow head runs into another or into the notes over it, or over the edge of the figure."""
    for root in roots(sample_scores.touched(), engraver, **layout):
        top = top_string(root)
        boxes = [(mark, box_of(mark)) for mark in root.xpath("//*[@class='touch']")]
        lane = [(mark, box) for mark, box in boxes if box.y1 < top - 100.0]
        assert lane
        for (_, a), (_, b) in combinations(lane, 2):
            assert a.x1 <= b.x0 + 1 or b.x1 <= a.x0 + 1 or a.y1 <= b.y0 + 1 or b.y1 <= a.y0 + 1
        for mark, box in boxes:
            assert box.y0 > notation_floor(root, box.x0, box.x1), etree.tostring(mark)
            assert 0.0 <= box.x0 <= box.x1 <= float(str(root.get("viewBox")).split()[2])


@pytest.mark.parametrize("layout", [{}, NARROW])
def test_a_bent_note_shakes_after_the_bend(layout: dict[str, float], engraver: Engraver) -> None:
    """The hand shakes what it has bent up to (common practice): the wave stands behind the word of the bend."""
    shaken = sample_scores.touched()
    part = shaken.parts[0]
    notes = [replace(note, touch=replace(note.touch, vibrato=True)) if note.touch.bend else note for note in part.notes]
    bends = [index for index, note in enumerate(notes) if note.touch.bend]
    drawn = roots(replace(shaken, parts=(replace(part, notes=tuple(notes)),)), engraver, **layout)
    for index in bends:
        here = [mark for root in drawn for mark in marks(root, index)]
        word = next(mark for mark in here if mark.get("data-text"))
        waves = [mark for mark in here if str(mark.get("d")).count("q") > 1]
        assert waves
        assert all(box_of(wave).x0 > box_of(word).x1 for wave in waves)


@settings(max_examples=25)
@given(score=touched_scores())
def test_any_touches_are_drawn_under_the_notes(engraver: Engraver, score: Score) -> None:
    """Whatever hands can do is drawn, in the room between the staves; vibrato where its note has the length for it."""
    drawn = roots(score, engraver)
    for index, note in enumerate(score.parts[0].notes):
        if note.touch.start is not Start.PICKED or (note.touch.vibrato and note.duration >= Fraction(1, 2)):
            assert any(marks(root, index) for root in drawn), (index, note.touch)
    for root in drawn:
        for mark in root.xpath("//*[@class='touch']"):
            box = box_of(mark)
            assert box.y0 > notation_floor(root, box.x0, box.x1), etree.tostring(mark)


def test_plain_music_is_drawn_as_ever() -> None:
    """A score without touches has no trace of them in MEI."""
    plain = to_mei(sample_scores.motifs())
    assert "<dir" in plain
    assert not re.search(r'type="room"|<slur|<gliss|head\.shape', plain)
    assert {"<slur", "<gliss", 'head.shape="x"'} == {
        one for one in ("<slur", "<gliss", 'head.shape="x"') if one in to_mei(sample_scores.touched())
    }
