"""The exchange files of a pack, read back from disk by programs that are not ours."""

from __future__ import annotations

from pathlib import Path

import mido
import music21
import pytest
from lxml import etree

from musicxml_reading import fretted, load_schema, placed, sounded, wanted
from phrasewright.app.build import BuildReport
from phrasewright.app.page import Pieces
from phrasewright.app.source import read_source
from phrasewright.app.stages import plan_stages
from phrasewright.engrave.worker import shared_engraver
from phrasewright.sound.midifile import TICKS_PER_QUARTER

PIECES = ("exercise-1", "exercise-2", "study-1", "track")


@pytest.fixture(scope="module")
def pieces(small_lesson: Path) -> Pieces:
    """The scores that the files were written from."""
    return plan_stages(read_source(small_lesson)).workshop.pieces


def test_every_piece_has_its_files(built: BuildReport, pieces: Pieces) -> None:
    """MusicXML, MEI, MIDI and text tablature for each exercise, the study and the track."""
    assert tuple(piece.id for piece in pieces.all) == PIECES
    names = {path.name for path in (built.pack / "exchange").iterdir()}
    assert names == {f"{id_}{end}" for id_ in PIECES for end in (".musicxml", ".mei", ".mid", "-tab.txt")}


@pytest.mark.parametrize("id_", PIECES)
def test_musicxml_is_valid(id_: str, built: BuildReport, data_dir: Path) -> None:
    """Every exported file validates against the MusicXML 4.0 schema (W3C)."""
    schema = load_schema(data_dir)
    assert schema.validate(etree.parse(built.pack / f"exchange/{id_}.musicxml")), schema.error_log


@pytest.mark.parametrize("index", range(len(PIECES)))
def test_music21_reads_the_lead_back(index: int, built: BuildReport, pieces: Pieces) -> None:
    """Pitches, onsets, durations, strings and frets of the lead come back exactly."""
    piece = pieces.all[index]
    parts = music21.converter.parse(built.pack / f"exchange/{piece.id}.musicxml").parts
    assert sounded(parts[0]) == wanted(piece.lead)
    assert fretted(parts[1]) == placed(piece.lead)


@pytest.mark.parametrize("id_", PIECES)
def test_musicxml_keeps_the_lessons_tempo(id_: str, built: BuildReport, small_lesson: Path) -> None:
    """The first tempo of the lesson, in quarter notes a minute, as music21 reads it."""
    plan = plan_stages(read_source(small_lesson)).workshop.plan
    score = music21.converter.parse(built.pack / f"exchange/{id_}.musicxml")
    marks = {mark.getQuarterBPM() for mark in score.recurse().getElementsByClass(music21.tempo.MetronomeMark)}
    assert list(marks) == [pytest.approx(plan.lesson.quarters_per_minute(plan.lesson.tempos_bpm[0]))]


@pytest.mark.parametrize("index", range(len(PIECES)))
def test_the_engraver_hears_the_score(index: int, built: BuildReport, pieces: Pieces) -> None:
    """Onsets in verovio's timemap of the MEI file equal the score's."""
    piece = pieces.all[index]
    onsets = shared_engraver().onsets((built.pack / f"exchange/{piece.id}.mei").read_text(encoding="utf-8"))
    for number, note in enumerate(piece.lead.notes):
        assert onsets[f"n{number}"] == pytest.approx(float(note.onset), abs=1e-3)


@pytest.mark.parametrize("index", range(len(PIECES)))
def test_mido_reads_the_lead_back(index: int, built: BuildReport, pieces: Pieces) -> None:
    """Note-ons of the lead's track fall on the score's onsets at 960 ticks a quarter note."""
    piece = pieces.all[index]
    file = mido.MidiFile(built.pack / f"exchange/{piece.id}.mid")
    assert file.ticks_per_beat == TICKS_PER_QUARTER == 960
    track = next(track for track in file.tracks if track.name == piece.lead.name)
    now, heard = 0, []
    for message in track:
        now += message.time
        if message.type == "note_on" and message.velocity:
            heard.append((now, message.note))
    assert heard == [(int(note.onset * 960), note.pitch.midi) for note in piece.lead.notes]
