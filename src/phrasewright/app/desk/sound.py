"""How a lesson on the desk sounds: its motifs and studies with their band, and every single note of the neck.

What is sent is what the page of a pack has: pieces and clips, which the browser lays out in time.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

from phrasewright.app.page import motif_pieces, piece_view
from phrasewright.app.page_sound import page_performance, page_sprite, sound_bank
from phrasewright.app.pieces import study_pieces
from phrasewright.app.reading import Reading
from phrasewright.app.sounds import audio_wish
from phrasewright.engrave.page.pieces import piece_json
from phrasewright.engrave.page.sprites import bank_json, metronome_json, sprite_json
from phrasewright.lesson.plan import LessonPlan
from phrasewright.score.model import PartRole
from phrasewright.sound import bank
from phrasewright.sound.events import SAMPLE_RATE, TimedNote
from phrasewright.sound.voices import Voice

NOTE_S = 1.6
NOTE_VELOCITY = 0.7


def desk_sound(reading: Reading) -> dict[str, Any]:
    """Pieces, metronome and clips of a lesson that has a plan. Raises PhrasewrightError for missing sampled sound."""
    plan = _plan(reading)
    lesson = plan.lesson
    sounds = audio_wish(lesson.sound, reading.source.font, sample_rate=SAMPLE_RATE).sounds
    studies, motifs = study_pieces(plan), motif_pieces(plan)
    everything = (*motifs, *studies)
    found = sound_bank(
        everything,
        lesson.performance(min(lesson.tempos_bpm)),
        page_performance(plan),
        balance_on=studies[0],
        seed=lesson.seed,
        sounds=sounds,
    )
    return {
        "rate": SAMPLE_RATE,
        "metronome": metronome_json(found),
        "pieces": [piece_json(piece_view(piece, plan, everything)) for piece in everything],
        "sounds": bank_json(found),
    }


def note_sound(reading: Reading) -> dict[str, Any]:
    """The clip of every pitch of the neck, keyed by its MIDI number, as the lead would play it."""
    plan = _plan(reading)
    instrument = plan.lesson.instrument
    pitches = {
        open_.midi + fret for open_ in instrument.tuning for fret in range(instrument.capo, instrument.frets + 1)
    }
    voice = Voice(plan.studies[0].score.part(PartRole.LEAD).voice)
    sounds = audio_wish(plan.lesson.sound, reading.source.font, sample_rate=SAMPLE_RATE).sounds
    return _notes(tuple(sorted(pitches)), voice, sounds)


@lru_cache(maxsize=4)
def _notes(pitches: tuple[int, ...], voice: Voice, sounds: Any) -> dict[str, Any]:
    notes = [TimedNote(onset_s=0.0, duration_s=NOTE_S, pitch_midi=pitch, velocity=NOTE_VELOCITY) for pitch in pitches]
    made = bank.pitched_sprite(notes, voice, seed=1, sounds=sounds)
    sprite = page_sprite(PartRole.LEAD, made, made.audio, 0.0, release_s=bank.RELEASE_S)
    keys = {bank.note_key(note, voice): str(note.pitch_midi) for note in notes}
    return sprite_json(replace(sprite, clips={keys[key]: clip for key, clip in sprite.clips.items()}))


def _plan(reading: Reading) -> LessonPlan:
    if reading.plan is None:
        raise ValueError("a lesson with mistakes has no sound")
    return reading.plan
