"""MusicXML: valid by the W3C schema, and the same music when two other programs read it back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

import music21
import pytest
from hypothesis import HealthCheck, given, settings
from lxml import etree

import sample_scores
from musicxml_reading import fretted, load_schema, placed, sounded, wanted
from phrasewright.engrave.musicxml import to_musicxml
from phrasewright.engrave.musicxml_drums import DRUM_MARKS
from phrasewright.engrave.musicxml_harmony import add_harmony, degree_change
from phrasewright.engrave.musicxml_notes import TYPES
from phrasewright.engrave.worker import Engraver
from phrasewright.score.model import Drum, DrumPart, Hit, Note, Part, PartRole, Score
from phrasewright.score.performance import Performance, SwingCurve
from phrasewright.theory.chord import CHORD_KINDS, Action, Alteration, Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import NoteName, Pitch
from strategies import band_scores, lead_scores

SLOW = settings(max_examples=12, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])


@pytest.fixture(scope="module")
def schema(data_dir: Path) -> etree.XMLSchema:
    """MusicXML 4.0 XSD, W3C Music Notation Community Group."""
    return load_schema(data_dir)


@pytest.fixture(scope="module")
def engraver() -> Iterator[Engraver]:
    with Engraver() as one:
        yield one


def tree(score: Score, performance: Performance | None = None) -> etree._Element:
    return etree.fromstring(to_musicxml(score, performance).encode())


def check_valid(schema: etree.XMLSchema, score: Score, performance: Performance | None = None) -> None:
    document = tree(score, performance)
    assert schema.validate(document), schema.error_log


def band() -> Score:
    """A lead with chords, bass and drums, two of them off the written grid."""
    lead = sample_scores.motifs()
    strum = tuple(
        Note(onset=Fraction(bar * 4), duration=Fraction(37, 10), pitch=Pitch.parse(name))
        for bar in range(4)
        for name in ("A3", "C4", "E4")
    )
    low = tuple(Note(onset=Fraction(i), duration=Fraction(9, 10), pitch=Pitch.parse("A1")) for i in range(16))
    parts = (
        *lead.parts,
        Part(role=PartRole.CHORDS, name="Chords", notes=strum, voice="electric guitar"),
        Part(role=PartRole.BASS, name="Bass", notes=low, voice="bass"),
    )
    hits = tuple(
        Hit(onset=Fraction(i, 2), drum=drum)
        for i in range(32)
        for drum in (Drum.CLOSED_HAT, *([Drum.KICK] if i % 4 == 0 else [Drum.GHOST] if i % 4 == 2 else []))
    )
    drums = DrumPart(name="Drums", hits=hits)
    return Score(
        title="Band", measures=lead.measures, parts=parts, fifths=0, drums=drums, words="Play with space & listen."
    )


# --- the schema


@pytest.mark.parametrize("make", [*sample_scores.ALL, band])
def test_samples_are_valid(make: Callable[[], Score], schema: etree.XMLSchema) -> None:
    """Every sample validates, with and without tempo and swing."""
    check_valid(schema, make())
    check_valid(schema, make(), Performance(tempo_bpm=132.0, swing=SwingCurve(((60.0, 2.0), (200.0, 1.4)))))


@SLOW
@given(score=band_scores())
def test_any_score_is_valid(schema: etree.XMLSchema, score: Score) -> None:
    """Any meter, key, tuning, chord, rhythm and band validates."""
    check_valid(schema, score, Performance(tempo_bpm=90.0))


@pytest.mark.parametrize("kind", CHORD_KINDS.values(), ids=str)
def test_every_chord_kind_is_valid(kind: object, schema: etree.XMLSchema) -> None:
    """All kinds of the schema are written, with bass and an altered degree."""
    assert kind in CHORD_KINDS.values()
    chord = Chord(
        root=NoteName("F", 1),
        kind=CHORD_KINDS[kind.id],  # type: ignore[attr-defined]
        alterations=(Alteration(Action.ADD, Degree(9, -1)),),
        bass=NoteName("C"),
    )
    measures = sample_scores.bars("4/4", [[chord, None]])
    check_valid(schema, Score(title="Kinds", measures=measures, parts=sample_scores.two_voices().parts, fifths=0))


# --- read back by music21


@pytest.mark.parametrize("make", sample_scores.ALL)
def test_music21_reads_the_same_notes(make: Callable[[], Score]) -> None:
    """Pitches as spelled, onsets and durations come back exactly, from notation and from tablature."""
    score = make()
    parts = music21.converter.parseData(to_musicxml(score), format="musicxml").parts
    for part in parts:
        assert sounded(part) == wanted(score.parts[0])


@pytest.mark.parametrize("make", sample_scores.ALL)
def test_music21_reads_the_same_places(make: Callable[[], Score]) -> None:
    """String and fret of every placed note come back from the tablature staff, note by note."""
    score = make()
    part = score.parts[0]
    if part.instrument is None:
        pytest.fail("every sample has an instrument")
    tablature = music21.converter.parseData(to_musicxml(score), format="musicxml").parts[1]
    assert fretted(tablature) == placed(part)


def test_music21_reads_the_chords() -> None:
    """Chord symbols stand on their beats and sound the right pitch classes."""
    score = sample_scores.motifs()
    read = music21.converter.parseData(to_musicxml(score), format="musicxml")
    symbols = list(read.parts[0].flatten().getElementsByClass(music21.harmony.ChordSymbol))
    spans = [span for measure in score.measures for span in measure.chords if span.chord]
    assert [Fraction(symbol.offset) for symbol in symbols] == [span.onset for span in spans]
    for symbol, span in zip(symbols, spans, strict=True):
        assert {pitch.pitchClass for pitch in symbol.pitches} == set(span.chord.pitch_classes if span.chord else ())


# --- read by the engraver


@SLOW
@given(score=lead_scores())
def test_the_engraver_hears_the_same_onsets(engraver: Engraver, score: Score) -> None:
    """Onsets of notation and tablature in the engraver's timemap equal the score's."""
    onsets = engraver.onsets(to_musicxml(score))
    for index, note in enumerate(score.parts[0].notes):
        assert onsets[f"n{index}"] == pytest.approx(float(note.onset), abs=1e-3)


# --- what stands where


def test_the_neck_is_told() -> None:
    """Lines, open strings without capo (lowest line first), and the capo."""
    root = tree(sample_scores.with_capo())
    steps = [element.text for element in root.iterfind(".//staff-tuning/tuning-step")]
    assert steps == ["E", "A", "D", "G", "B", "E"]
    assert root.findtext(".//staff-details/capo") == "3"
    assert root.findtext(".//staff-lines") == "6"
    assert next(element.text for element in root.iterfind(".//fret")) == "0"


def test_words_stand_with_their_notes() -> None:
    """Degrees are lyrics, fingers technical marks, labels framed words, sections rehearsal marks."""
    root = tree(sample_scores.motifs())
    assert [text.text for text in root.iterfind(".//lyric/text")][:3] == ["1", "♭3", "4"]
    assert [finger.text for finger in root.iterfind(".//fingering")][:3] == ["0", "3", "0"]
    assert [word.text for word in root.iterfind(".//direction-type/words")] == ["A", "B", "A′"]
    assert [mark.text for mark in root.iterfind(".//rehearsal")] == ["Question", "Answer"]


def test_octaves_are_told_by_the_clef_only() -> None:
    """Pitches stand as they sound, with an octave clef and no transposition."""
    root = tree(sample_scores.low_bass())
    assert root.findtext(".//clef[@number='1']/sign") == "F"
    assert root.findtext(".//clef-octave-change") == "-1"
    assert root.find(".//transpose") is None


@pytest.mark.parametrize(
    ("meter", "unit", "dots", "per_minute"), [("4/4", "quarter", 0, "90"), ("12/8", "quarter", 1, "60")]
)
def test_the_tempo_counts_the_felt_beat(meter: str, unit: str, dots: int, per_minute: str) -> None:
    """90 quarters a minute are 60 dotted quarters in 12/8; swing stands as a ratio."""
    measures = sample_scores.bars(meter, [[None]])
    score = Score(title="t", measures=measures, parts=(Part(role=PartRole.LEAD, name="L", notes=()),), fifths=0)
    root = tree(score, Performance(tempo_bpm=90.0, swing=SwingCurve(((90.0, 1.5),))))
    assert root.findtext(".//beat-unit") == unit
    assert len(root.findall(".//beat-unit-dot")) == dots
    assert root.findtext(".//per-minute") == per_minute
    assert [root.findtext(f".//swing/{name}") for name in ("first", "second")] == ["3", "2"]
    assert tree(score, Performance(tempo_bpm=90.0)).find(".//swing/straight") is not None


def test_the_band_is_written_at_readable_rhythms() -> None:
    """Played lengths are snapped; chords stand once; strokes of one moment are one chord."""
    root = tree(band())
    names = [element.text for element in root.iterfind(".//part-name")]
    assert names == ["Lead", "Chords", "Bass", "Drums"]
    chords, bass, drums = root.findall("part")[1:]
    assert [note.findtext("type") for note in chords.iterfind("measure[@number='1']/note")] == ["whole"] * 3
    assert {note.findtext("type") for note in bass.iterfind(".//note")} == {"quarter"}
    first = drums.findall("measure[@number='1']/note")
    assert [note.find("chord") is not None for note in first[:3]] == [False, True, False]
    assert len(root.findall(".//harmony")) == 5


def test_drums_name_their_instruments() -> None:
    """Every stroke points at a declared instrument whose General MIDI key is one above the note number."""
    root = tree(band())
    declared = {element.get("id") for element in root.iterfind(".//score-instrument")}
    used = {element.get("id") for element in root.iterfind(".//note/instrument")}
    assert used <= declared
    keys = {element.get("id"): element.findtext("midi-unpitched") for element in root.iterfind(".//midi-instrument")}
    assert keys["P4-kick"] == "37"
    assert root.find(".//notehead[@parentheses='yes']") is not None


@pytest.mark.parametrize("drum", Drum)
def test_every_drum_has_a_mark(drum: Drum) -> None:
    """A place on the staff and a key in General MIDI's range (35 to 81, docs/sources.md 2.3)."""
    assert 35 <= DRUM_MARKS[drum].key <= 81


@pytest.mark.parametrize(
    ("kind", "change", "expected"),
    [
        ("dominant", Alteration(Action.ALTER, Degree(5, -1)), (Action.ALTER, -1)),
        ("dominant", Alteration(Action.ADD, Degree(9, -1)), (Action.ADD, -1)),
        ("major", Alteration(Action.ADD, Degree(7)), (Action.ADD, 1)),
        ("major", Alteration(Action.ADD, Degree(7, -1)), (Action.ADD, 0)),
        ("diminished", Alteration(Action.ALTER, Degree(5)), (Action.ALTER, 1)),
        ("minor", Alteration(Action.SUBTRACT, Degree(3, -1)), (Action.SUBTRACT, 0)),
        ("dominant", Alteration(Action.ALTER, Degree(9, 1)), (Action.ADD, 1)),
    ],
)
def test_degrees_follow_the_schema(kind: str, change: Alteration, expected: tuple[Action, int]) -> None:
    """Added degrees count from a dominant chord, others from the kind's own (schema text of degree-alter)."""
    chord = Chord(root=NoteName("C"), kind=CHORD_KINDS[kind], alterations=(change,))
    assert degree_change(chord, change) == expected


def test_a_chord_between_notes_has_an_offset() -> None:
    """A chord that changes while a note is held stands at its own moment."""
    parent = etree.Element("measure")
    assert add_harmony(parent, None, offset=3, staff=1).findtext("offset") == "3"
    measures = sample_scores.bars("4/4", [[sample_scores.chord("C", "major"), sample_scores.chord("F", "major")]])
    held = Part(role=PartRole.LEAD, name="L", notes=sample_scores.line("0:4:C4:-", None))
    root = tree(Score(title="t", measures=measures, parts=(held,), fifths=0))
    assert [harmony.findtext("offset") for harmony in root.iterfind(".//harmony")] == [None, "2"]


def test_beams_have_hooks() -> None:
    """A dotted eighth and a sixteenth share one beam; the sixteenth has a hook."""
    root = tree(sample_scores.triplets_and_ties())
    beams = [[beam.text for beam in note.findall("beam")] for note in root.iterfind(".//measure[@number='3']/note")]
    assert beams[:2] == [["begin"], ["end", "backward hook"]]


def test_the_same_score_is_the_same_bytes() -> None:
    """Nothing random or dated is written."""
    assert to_musicxml(band()) == to_musicxml(band())


def test_all_values_have_names() -> None:
    """Every base down to 1/128 is named."""
    assert list(TYPES) == [1, 2, 4, 8, 16, 32, 64, 128]
