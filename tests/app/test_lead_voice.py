"""A lesson's lead plays on the voice it asks for, wherever it sounds: files, page, MIDI, MusicXML.

Program numbers: General MIDI level 1 (acoustic guitar steel 26, nylon 25, clean electric 28, overdriven 30).
"""

from __future__ import annotations

import io

import mido
import numpy as np
import pytest
from lxml import etree

from phrasewright.app.page import Pieces, motif_pieces
from phrasewright.app.page_sound import clip_finder, page_performance
from phrasewright.app.pieces import exercise_pieces, study_pieces, track_piece, whole_track
from phrasewright.app.practice import call_and_response
from phrasewright.band.form import Ending
from phrasewright.compose.lead_voice import LeadVoice
from phrasewright.engrave.musicxml import to_musicxml
from phrasewright.lesson.plan import LessonPlan, plan
from phrasewright.lesson.read import read_lesson
from phrasewright.score.model import PartRole
from phrasewright.score.performance import Performance
from phrasewright.sound.midifile import midi_bytes
from phrasewright.sound.track import render_track
from phrasewright.sound.voices import Voice

LESSON = """\
[lesson]
title = "On another guitar"
[scale]
root = "A"
[position]
style = "open"
[motifs]
shelf = 3
[band]
tempos = [120]
choruses = 1
[study]
bars = 4
[lead]
voice = "{voice}"
"""
PROGRAMS = {
    LeadVoice.GUITAR: 28,
    LeadVoice.DRIVEN_GUITAR: 30,
    LeadVoice.ACOUSTIC_GUITAR: 26,
    LeadVoice.NYLON_GUITAR: 25,
}


def planned(voice: LeadVoice) -> LessonPlan:
    return plan(read_lesson(LESSON.format(voice=voice), "voice.toml"))


def test_every_voice_of_a_lead_can_be_played() -> None:
    """The words of a lesson are those of the sound."""
    assert {Voice(voice) for voice in LeadVoice} <= set(Voice)


@pytest.mark.parametrize("voice", LeadVoice)
def test_the_voice_is_everywhere(voice: LeadVoice) -> None:
    """Exercises, studies, motifs, track and practice; clips of the page, programs of MIDI and MusicXML (counted from 1
    there)."""
    lesson = planned(voice)
    track = track_piece(lesson, Ending.FINAL)
    pieces = Pieces(exercises=exercise_pieces(lesson), studies=study_pieces(lesson), track=track)
    everything = (*pieces.all, *motif_pieces(lesson))
    turned = call_and_response(whole_track(lesson, Ending.FINAL).score, 2)
    assert {piece.lead.voice for piece in everything} | {turned.part(PartRole.LEAD).voice} == {str(voice)}
    clips = clip_finder(everything, page_performance(lesson))(track.lead)
    assert all(clip.key.startswith(f"{voice} ") for clip in clips)
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(track.score, 120.0)))
    assert [m.program + 1 for m in file.tracks[1] if m.type == "program_change"] == [PROGRAMS[voice]]
    written = etree.fromstring(to_musicxml(track.score).encode())
    assert written.findtext("part-list/score-part/midi-instrument/midi-program") == str(PROGRAMS[voice])


def test_another_voice_sounds_different_and_plays_the_same() -> None:
    """Notes stay; the lead's stem does not."""
    voices = (LeadVoice.GUITAR, LeadVoice.NYLON_GUITAR)
    usual, nylon = (track_piece(planned(voice), Ending.FINAL).score for voice in voices)
    assert usual.part(PartRole.LEAD).notes == nylon.part(PartRole.LEAD).notes
    heard = [render_track(score, Performance(tempo_bpm=120.0)).dry for score in (usual, nylon)]
    assert np.abs(heard[0][PartRole.LEAD] - heard[1][PartRole.LEAD]).max() > 0.05
    assert np.array_equal(heard[0][PartRole.BASS], heard[1][PartRole.BASS])
