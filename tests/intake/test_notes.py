"""Files of notes: read right, or refused with file, line and how to mend them."""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from pathlib import Path

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.engrave.musicxml import to_musicxml
from phrasewright.errors import NoteFileError, OutputError, PhrasewrightError
from phrasewright.intake.midi import read_midi
from phrasewright.intake.musicxml import read_musicxml
from phrasewright.intake.mxl import read_mxl
from phrasewright.intake.notes import read_notes
from phrasewright.intake.table import read_table
from phrasewright.neck.fingering.line import LineNote
from phrasewright.score.model import PartRole, Score
from phrasewright.sound.midifile import midi_bytes
from phrasewright.units import seconds_from_quarters
from sample_scores import accidentals, dense, motifs, seven, triplets_and_ties, ukulele

SCORES = [make() for make in (motifs, triplets_and_ties, seven, ukulele, accidentals, dense)]
HEAD = "onset_s,duration_s,midi_pitch_float\n"


def heard(notes: tuple[LineNote, ...]) -> list[tuple[float, float, int]]:
    return [(round(note.onset_s, 3), round(note.duration_s, 3), note.pitch_midi) for note in notes]


def test_a_table_keeps_its_order() -> None:
    """Columns in any order, others left alone, pitches to the nearest semitone, a byte-order mark."""
    text = "\ufeffstring,midi_pitch_float,onset_s,duration_s\n3,60.4,1.5,0.5\n1,59.6,0.5,1\n"
    assert heard(read_table(text.encode(), "a.csv")) == [(1.5, 0.5, 60), (0.5, 1.0, 60)]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "a.csv:1: the table has no column onset_s"),
        ("onset_s,duration_s\n1,2\n", "a.csv:1: the table has no column midi_pitch_float"),
        (HEAD + "0,1,60\nx,1,60\n", "a.csv:3: onset_s is 'x', not a number"),
        (HEAD + "0,1,60\n0,nan,60\n", "a.csv:3: duration_s is 'nan', not a number"),
        (HEAD + "0,-1,60\n", "a.csv:2: duration_s is '-1', not a number from 0"),
        (HEAD + "0,1,inf\n", "a.csv:2: midi_pitch_float is 'inf', not a number from 0 to 127"),
        (HEAD + "0,1\n", "a.csv:2: midi_pitch_float is '', not a number"),
        (HEAD + "0,1,60\n\xff", "a.csv:3: the table is not UTF-8 text"),
    ],
)
def test_a_broken_table_names_its_line(text: str, words: str) -> None:
    """File, line, what is wrong, and how to mend it on a line of its own."""
    with pytest.raises(NoteFileError, match="^" + re.escape(words)) as caught:
        read_table(text.encode("latin-1"), "a.csv")
    assert "\n    " in str(caught.value)


@given(st.binary(max_size=400), st.sampled_from([read_table, read_midi, read_musicxml, read_mxl]))
def test_no_bytes_crash_a_reader(content: bytes, reader: object) -> None:
    """Any bytes are read or refused."""
    assert callable(reader)
    try:
        reader(content, "any")
    except NoteFileError as error:
        assert "any" in str(error)  # noqa: PT017


@pytest.mark.parametrize("score", SCORES, ids=lambda score: score.title)
def test_our_own_files_come_back(score: Score) -> None:
    """MIDI and MusicXML of a score give its lead's onsets and pitches again."""
    lead = score.part(PartRole.LEAD)
    tempo_bpm = 90.0
    wanted = sorted((round(seconds_from_quarters(n.onset, tempo_bpm), 3), n.pitch.midi) for n in lead.notes)
    alone = _only_lead(score)
    read = read_midi(midi_bytes(alone, tempo_bpm), "lead.mid")
    assert [(onset, pitch) for onset, _, pitch in heard(read)] == wanted
    written = read_musicxml(to_musicxml(alone).encode(), "lead.musicxml")
    quarter_s = 60.0 / 120.0
    scaled = sorted((round(note.onset_s / quarter_s * 60.0 / tempo_bpm, 3), note.pitch_midi) for note in written)
    assert scaled == wanted


def _only_lead(score: Score) -> Score:
    return replace(score, parts=(score.part(PartRole.LEAD),), drums=None)


def test_the_midi_standard_files(data_dir: Path) -> None:
    """Every file of the collection is read or refused; the plain scale is right."""
    for path in sorted((data_dir / "smf_tests").glob("*.mid")):
        try:
            notes = read_notes(path)
        except PhrasewrightError as error:
            assert path.name in str(error)  # noqa: PT017
        else:
            assert notes
    scale = read_notes(data_dir / "smf_tests" / "test-c-major-scale.mid")
    assert [note.pitch_midi for note in scale] == [60, 62, 64, 65, 67, 69, 71, 72]


def test_the_musicxml_test_suite(data_dir: Path) -> None:
    """Every file of the collection is read or refused, most are read; the plain pitches are right."""
    read = 0
    paths = sorted((data_dir / "musicxml_testsuite" / "xmlFiles").iterdir())
    for path in paths:
        try:
            read += bool(read_notes(path))
        except PhrasewrightError as error:
            assert path.name in str(error)  # noqa: PT017
    assert read > 0.8 * len(paths)


def test_percussion_is_left_out_and_tempo_honoured() -> None:
    """Channel 10 is silent, and the second quarter at 60 bpm lasts twice as long as the first at 120."""
    track = mido.MidiTrack(
        [
            mido.MetaMessage("set_tempo", tempo=500_000, time=0),
            mido.Message("note_on", channel=9, note=38, velocity=90, time=0),
            mido.Message("note_on", note=60, velocity=90, time=0),
            mido.Message("note_off", note=60, time=480),
            mido.MetaMessage("set_tempo", tempo=1_000_000, time=0),
            mido.Message("note_on", note=62, velocity=90, time=0),
            mido.Message("note_on", note=62, velocity=0, time=480),
        ]
    )
    target = io.BytesIO()
    mido.MidiFile(tracks=[track], ticks_per_beat=480).save(file=target)
    assert heard(read_midi(target.getvalue(), "a.mid")) == [(0.0, 0.5, 60), (0.5, 1.0, 62)]


def _musicxml(measure: str) -> bytes:
    return f'<score-partwise><part id="P1"><measure number="1">{measure}</measure></part></score-partwise>'.encode()


def _written(step: str, duration: int, more: str = "", *, before: str = "") -> str:
    pitch = f"<pitch><step>{step}</step><octave>4</octave></pitch>"
    return f"<note>{before}{pitch}<duration>{duration}</duration>{more}</note>"


DIVISIONS = "<attributes><divisions>2</divisions></attributes>"


def test_ties_chords_voices_and_tempo() -> None:
    """Tied notes are one, chord notes share an onset, a second voice begins where it backs up to."""
    measure = (
        DIVISIONS
        + '<sound tempo="60"/>'
        + _written("C", 2, '<tie type="start"/>')
        + _written("C", 2, '<tie type="stop"/>')
        + _written("E", 4, before="<chord/>").replace("<duration>4", "<duration>2")
        + "<backup><duration>4</duration></backup>"
        + _written("G", 4, "<voice>2</voice>")
        + _written("A", 0, before="<grace/>")
    )
    assert heard(read_musicxml(_musicxml(measure), "a.xml")) == [(0.0, 2.0, 60), (0.0, 2.0, 67), (1.0, 1.0, 64)]


def test_a_transposing_part_reads_as_it_sounds() -> None:
    """Guitar notation sounds an octave below what is written."""
    attributes = (
        "<attributes><divisions>1</divisions><transpose><chromatic>0</chromatic>"
        "<octave-change>-1</octave-change></transpose></attributes>"
    )
    assert heard(read_musicxml(_musicxml(attributes + _written("C", 1)), "a.xml")) == [(0.0, 0.5, 48)]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"<score-timewise/>", "holds score-timewise, not score-partwise"),
        (b"<score-partwise>", "no whole XML file"),
        (_musicxml("<attributes><divisions>0</divisions></attributes>"), "divisions must be above 0"),
        (_musicxml(_written("H", 1)), "a step A to G"),
        (_musicxml('<sound tempo="fast"/>'), "tempo 'fast'"),
        (_musicxml(_written("C", 1).replace("<duration>1", "<duration>long")), "duration is 'long'"),
    ],
)
def test_a_broken_score_says_what_is_wrong(content: bytes, words: str) -> None:
    with pytest.raises(NoteFileError, match=re.escape(words)):
        read_musicxml(content, "a.xml")


def test_entities_are_not_opened(tmp_path: Path) -> None:
    """A file that names another file in an entity does not get at it."""
    secret = tmp_path / "secret.txt"
    secret.write_text("4")
    text = (
        f'<!DOCTYPE score-partwise [<!ENTITY x SYSTEM "{secret.as_uri()}">]>'
        "<score-partwise><part><measure><note><pitch><step>C</step><octave>&x;</octave></pitch></note>"
        "</measure></part></score-partwise>"
    )
    with pytest.raises(NoteFileError, match="octave is ''"):
        read_musicxml(text.encode(), "a.xml")


def test_compressed_musicxml() -> None:
    """The container names the score; an archive without one is refused."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr(
            "META-INF/container.xml", '<container><rootfiles><rootfile full-path="s.xml"/></rootfiles></container>'
        )
        archive.writestr("s.xml", _musicxml(DIVISIONS + _written("D", 2)))
    assert heard(read_mxl(target.getvalue(), "a.mxl")) == [(0.0, 0.5, 62)]
    empty = io.BytesIO()
    zipfile.ZipFile(empty, "w").close()
    with pytest.raises(NoteFileError, match="no whole MXL archive"):
        read_mxl(empty.getvalue(), "a.mxl")


def test_files_that_are_no_notes(tmp_path: Path) -> None:
    """A folder, a missing file, another kind of file, a file without notes."""
    with pytest.raises(OutputError, match="There is no file"):
        read_notes(tmp_path / "none.csv")
    (tmp_path / "folder.csv").mkdir()
    with pytest.raises(OutputError, match="is a folder"):
        read_notes(tmp_path / "folder.csv")
    with pytest.raises(NoteFileError, match="this kind of file is not read"):
        read_notes(tmp_path / "take.wav")
    (tmp_path / "empty.csv").write_text(HEAD)
    with pytest.raises(NoteFileError, match="there are no notes in it"):
        read_notes(tmp_path / "empty.csv")
