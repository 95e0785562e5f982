"""MEI: stable ids, exact onsets and pitches as the engraver reads them, any tuning."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

import pytest
import verovio
from hypothesis import given, settings
from lxml import etree

import sample_scores
from phrasewright.engrave.mei import (
    chord_changes,
    has_tab,
    lead_of,
    sounding_tuning,
    to_mei,
    uses_bass_clef,
)
from phrasewright.engrave.worker import Engraver
from phrasewright.score.model import Part, PartRole, Score
from strategies import lead_scores

NS = {"m": "http://www.music-encoding.org/ns/mei"}
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"


@pytest.fixture(scope="module")
def engraver() -> Iterator[Engraver]:
    with Engraver() as one:
        yield one


def tree(score: Score) -> etree._Element:
    return etree.fromstring(to_mei(score).encode())


def ids(score: Score) -> list[str]:
    return [str(element.get(XML_ID)) for element in tree(score).iter() if element.get(XML_ID)]


@pytest.mark.parametrize("make", sample_scores.ALL)
def test_onsets_and_pitches_are_those_of_the_score(make: Callable[[], Score]) -> None:
    """The engraver's own clock and pitches agree with the score, on notation and on tablature, whatever the tuning."""
    score = make()
    toolkit = verovio.toolkit()
    assert toolkit.loadData(to_mei(score))
    onsets = {name: moment["qstamp"] for moment in toolkit.renderToTimemap() for name in moment.get("on", ())}
    for index, note in enumerate(lead_of(score).notes):
        for name in [f"n{index}", *([f"t{index}"] if note.place else [])]:
            assert onsets[name] == pytest.approx(float(note.onset), abs=1e-6)
            assert toolkit.getMIDIValuesForElement(name)["pitch"] == note.pitch.midi


@settings(max_examples=15)
@given(score=lead_scores())
def test_any_score_keeps_its_onsets(engraver: Engraver, score: Score) -> None:
    """Onsets survive for any meter, rhythm, key and tuning."""
    onsets = engraver.onsets(to_mei(score))
    for index, note in enumerate(lead_of(score).notes):
        assert onsets[f"n{index}"] == pytest.approx(float(note.onset), abs=1e-6)


@settings(max_examples=15)
@given(lead_scores())
def test_ids_are_unique_and_complete(score: Score) -> None:
    """Every note has a head, every placed note a digit, and no id appears twice."""
    found, part = ids(score), lead_of(score)
    assert len(found) == len(set(found))
    assert {f"n{index}" for index in range(len(part.notes))} <= set(found)
    if has_tab(part):
        assert {f"t{index}" for index, note in enumerate(part.notes) if note.place} <= set(found)


def test_the_same_score_is_the_same_bytes() -> None:
    """Nothing random or dated is written."""
    assert to_mei(sample_scores.motifs()) == to_mei(sample_scores.motifs())


def test_words_point_at_their_notes() -> None:
    """Degrees hang under the digit, fingers and labels over the head."""
    root = tree(sample_scores.motifs())
    assert root.xpath("string(//m:dir[@type='degree'][@startid='#t1']/m:rend)", namespaces=NS) == "♭3"
    assert root.xpath("string(//m:fing[@startid='#n1'])", namespaces=NS) == "3"
    assert root.xpath("string(//m:dir[@type='label'][@startid='#n3'])", namespaces=NS) == "B"
    assert root.xpath("count(//m:reh)", namespaces=NS) == 2


def test_chords_are_named_where_they_change() -> None:
    """A chord that goes on is not named again, except at the start of a system."""
    score = sample_scores.dense()
    names = "//m:measure[@n='{}']/m:harm"
    assert tree(score).xpath(names.format(5), namespaces=NS) == []
    laid = etree.fromstring(to_mei(score, system_starts={4}).encode())
    assert len(laid.xpath(names.format(5), namespaces=NS)) == 1
    assert len(laid.xpath("//m:pb", namespaces=NS)) == 1
    assert chord_changes(score.measures, 3, restate=False) == ()


def test_tied_notes_are_one_chain() -> None:
    """Pieces are n9, n9-2; the digit is repeated only after a bar line, and marked as held."""
    score = sample_scores.triplets_and_ties()
    root = tree(score)
    held = root.xpath("//m:note[@type='held']", namespaces=NS)
    assert [str(note.get(XML_ID)) for note in held] == ["t9-2"]
    assert [root.xpath(f"string(//m:note[@xml:id='{name}']/@tie)", namespaces=NS) for name in ("n9", "n9-2")] == [
        "i",
        "t",
    ]


@pytest.mark.parametrize(
    ("make", "shape", "octave"),
    [
        (sample_scores.motifs, "G", "8"),
        (sample_scores.low_bass, "F", "8"),
        (sample_scores.ukulele, "G", ""),
        (sample_scores.many_strings, "G", "8"),
    ],
)
def test_clefs_fit_the_instrument(make: Callable[[], Score], shape: str, octave: str) -> None:
    """Guitars read treble an octave up, basses bass clef an octave up, a ukulele at pitch (common practice)."""
    clef = tree(make()).xpath("//m:staffDef[@n='1']/m:clef", namespaces=NS)[0]
    assert (clef.get("shape"), clef.get("dis", "")) == (shape, octave)


def test_the_tuning_stands_as_it_sounds() -> None:
    """Courses are listed from the first string, raised by the capo."""
    root = tree(sample_scores.with_capo())
    courses = [course.get("pname") + course.get("oct") for course in root.iterfind(".//m:course", NS)]
    assert courses == ["g4", "d4", "b3", "f3", "c3", "g2"]
    assert [pitch.midi for pitch in sounding_tuning(sample_scores.GUITAR)] == [64, 59, 55, 50, 45, 40]


def test_a_part_without_a_neck_has_one_staff() -> None:
    """Without instrument or places there is no tablature; low notes take the bass clef."""
    note = sample_scores.line("0:4:C2:-", None)
    part = Part(role=PartRole.BASS, name="Bass", notes=note)
    score = Score(title="t", measures=sample_scores.bars("4/4", [[None]]), parts=(part,), fifths=0)
    assert len(tree(score).findall(".//m:staffDef", NS)) == 1
    assert uses_bass_clef(part)
    assert lead_of(score) is part


def test_a_score_without_parts_is_refused() -> None:
    """There must be something to write."""
    score = Score(title="Empty", measures=sample_scores.bars("4/4", [[None]]), parts=(), fifths=0)
    with pytest.raises(ValueError, match="no pitched part"):
        to_mei(score)


def test_chord_names_stand_on_the_meters_own_beats() -> None:
    """In 12/8 the second half of the bar is beat 7."""
    root = tree(sample_scores.slow_twelve())
    stamps = root.xpath("//m:measure[@n='2']/m:harm/@tstamp", namespaces=NS)
    assert [Fraction(str(stamp)) for stamp in stamps] == [1, 7]
