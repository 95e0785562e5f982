"""A lesson whose lead bends, slides and the rest: heard in tune and in time, whole on the page."""

from __future__ import annotations

import json

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from phrasewright.app.page import Pieces, motif_pieces
from phrasewright.app.page_sound import clip_finder, page_performance, sound_bank
from phrasewright.app.pieces import exercise_pieces, study_pieces, track_piece, whole_track
from phrasewright.app.practice import call_and_response
from phrasewright.band.form import Ending
from phrasewright.engrave.page.pieces import piece_from_score, piece_json
from phrasewright.lesson.plan import LessonPlan, plan
from phrasewright.lesson.read import read_lesson
from phrasewright.score.model import PartRole
from phrasewright.score.performance import Performance
from phrasewright.score.technique import Damping, Technique
from phrasewright.score.touch_rules import fault
from phrasewright.sound.events import SAMPLE_RATE, timed_notes
from phrasewright.sound.render import render_notes
from phrasewright.sound.sounds import MODELS
from phrasewright.sound.voices import Voice
from phrasewright.units import cents_between, hz_from_midi

LESSON = """\
[lesson]
title = "Many ways to play"
teacher = "Ines Varga"
school = "Harbour Lane Community Music School"
[scale]
root = "A"
[position]
fret = 5
[rhythm]
counts = ["1 & 2 3 -", "1 & 2 &", "1 & 2 -", "1 2 3 -"]
space = 0.2
[motifs]
largest_step = 2
[band]
groove = "shuffle"
form = "minor-vamp"
tempos = [80, 60, 110]
choruses = 6
[exercises]
kinds = ["each-alone"]
[study]
bars = 16
[lead]
techniques = ["hammer-on", "pull-off", "slide", "bend", "vibrato", "palm mute", "dead note"]
"""
SETTLED_S, LONG_ENOUGH_S = 0.14, 0.4


@pytest.fixture(scope="module")
def planned() -> LessonPlan:
    return plan(read_lesson(LESSON, "touches.toml"))


def pitch_cents(sound: np.ndarray, pitch_midi: int) -> float:
    """Cents by which the strongest partial within half a semitone is off (Blackman window, parabola of logs)."""
    size, wanted_hz = 1 << 18, hz_from_midi(pitch_midi)
    spectrum = np.abs(np.fft.rfft(sound.astype(np.float64) * np.blackman(len(sound)), size))
    low, high = (int(wanted_hz * share * size / SAMPLE_RATE) for share in (0.972, 1.029))
    peak = low + int(spectrum[low:high].argmax())
    before, here, after = np.log(spectrum[peak - 1 : peak + 2])
    found_hz = (peak + 0.5 * (before - after) / (before - 2 * here + after)) * SAMPLE_RATE / size
    return cents_between(wanted_hz, found_hz)


@pytest.mark.parametrize("tempo_bpm", [60.0, 110.0])
def test_every_note_arrives_in_tune_and_on_time(planned: LessonPlan, tempo_bpm: float) -> None:
    """A held note is within 2 cents once it has arrived, wherever from; an onset stands within a millisecond."""
    part = planned.studies[0].score.parts[0]
    notes = timed_notes(part, Performance(tempo_bpm=tempo_bpm, swing=planned.lesson.groove.swing))
    measured = 0
    for note in notes:
        sound = render_notes([note], Voice.GUITAR, length=round((note.onset_s + note.duration_s + 0.3) * SAMPLE_RATE))
        at = round(note.onset_s * SAMPLE_RATE)
        assert not sound[:at].any()
        assert np.abs(sound[at : at + SAMPLE_RATE // 1000]).max() > 0.01 * np.abs(sound).max()
        settled_s = SETTLED_S + note.gesture.travel_s
        if (
            note.gesture.vibrato
            or note.gesture.damping is not Damping.OPEN
            or note.duration_s < settled_s + LONG_ENOUGH_S
        ):
            continue
        held = sound[at + round(settled_s * SAMPLE_RATE) : at + round(note.duration_s * SAMPLE_RATE)]
        assert abs(pitch_cents(held, note.pitch_midi)) < 2.0, note
        measured += 1
    assert measured >= 5


def test_legato_onsets_stand_where_the_notes_change(planned: LessonPlan) -> None:
    """In the whole stem, the fundamental of a hammered or pulled note grows from its onset on, not before."""
    part = planned.studies[0].score.parts[0]
    notes = timed_notes(part, Performance(tempo_bpm=60.0))
    stem = render_notes(notes, Voice.GUITAR, length=round((notes[-1].onset_s + 4.0) * SAMPLE_RATE))
    legato = [n for n in notes if n.gesture.rung_s and not n.gesture.from_cents and n.gesture.damping is Damping.OPEN]
    for note in legato:
        hz = hz_from_midi(note.pitch_midi)
        sos = butter(2, [hz * 0.97, hz * 1.03], "bandpass", fs=SAMPLE_RATE, output="sos")
        at = round(note.onset_s * SAMPLE_RATE)
        level = np.abs(sosfilt(sos, stem[at - SAMPLE_RATE // 10 : at + SAMPLE_RATE // 4].astype(np.float64)))
        before, after = level[: SAMPLE_RATE // 10].max(), level[SAMPLE_RATE // 10 :].max()
        assert after > 2.0 * before
    assert legato


def test_the_page_has_a_clip_for_every_touch(planned: LessonPlan) -> None:
    """Each event of each piece finds its clip; touches have their own, as long as the files' at the first tempo."""
    pieces = Pieces(
        exercises=exercise_pieces(planned), studies=study_pieces(planned), track=track_piece(planned, Ending.LOOP)
    )
    everything = (*pieces.all, *motif_pieces(planned))
    first = page_performance(planned)
    assert first.tempo_bpm == 80.0
    slowest = Performance(tempo_bpm=60.0, swing=first.swing)
    bank = sound_bank(everything, slowest, first, balance_on=pieces.studies[0], seed=1, sounds=MODELS)
    finder = clip_finder(everything, first)
    keys = {use.key for piece in everything for part in piece.score.parts for use in finder(part)}
    assert keys == {key for role, sprite in bank.sprites.items() if role is not PartRole.DRUMS for key in sprite.clips}
    assert any(" bent -" in key for key in keys)
    assert any(" slid " in key for key in keys)
    assert {word for key in keys for word in key.split()} >= {"hammered", "pulled", "vibrato", "palm", "dead"}
    study = pieces.studies[0]
    view = piece_from_score(study.score, id="s", clips_of=finder, swing=first.swing, tempo_bpm=80.0)
    stops = [row[10] for row in json.loads(json.dumps(piece_json(view)))["events"] if row[0] == 0]
    legato = [note for note in study.lead.notes if note.touch.is_legato]
    assert sum(stops) == len(legato) > 0


def test_a_line_that_is_cut_can_still_be_played(planned: LessonPlan) -> None:
    """Where call and response leaves bars out, no touch hangs on a note that is gone."""
    for bars in (1, 2, 3):
        lead = call_and_response(whole_track(planned, Ending.FINAL).score, bars).part(PartRole.LEAD)
        assert not any(fault(lead.notes, index, lead.instrument) for index in range(len(lead.notes)))
        assert {technique for note in lead.notes for technique in note.touch.techniques} & set(Technique)


def test_the_signs_are_explained(planned: LessonPlan) -> None:
    """The study's instruction says what the signs in its tablature mean."""
    words = planned.studies[0].score.words
    assert "In the tablature H means hammer-on, P means pull-off, P.M. means palm mute, X means dead note" in words
    assert words.endswith("a slanted line means slide, an arrow means bend, a wavy line means vibrato.")
