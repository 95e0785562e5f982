"""The page's sound: the distinct notes and strokes of all pieces, rendered once each.

Levels and room come from the mix that the audio files have, so page and files sound alike. What a bend or a string that
sounds on takes in seconds is that of the lesson's first tempo, whatever tempo the page plays at.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from phrasewright.app.pieces import BandPiece
from phrasewright.band.drums import CLICK as CLICK_VELOCITY
from phrasewright.band.drums import FIRST_CLICK
from phrasewright.engrave.page.sound_bank import Clip, ClipUse, SoundBank, Sprite
from phrasewright.lesson.plan import LessonPlan
from phrasewright.score.model import Drum, DrumPart, Part, PartRole
from phrasewright.score.performance import Performance
from phrasewright.sound import bank
from phrasewright.sound.encode import flac_bytes
from phrasewright.sound.events import SAMPLE_RATE, TimedHit, TimedNote, timed_hits, timed_notes
from phrasewright.sound.mix import SEATS, mix_stems
from phrasewright.sound.render import PAN, Pan
from phrasewright.sound.room import impulse_response
from phrasewright.sound.sounds import Sounds
from phrasewright.sound.track import render_track
from phrasewright.sound.voices import Voice
from phrasewright.units import amplitude_from_db, db_from_amplitude

PEAK = 0.9  # of a sprite's file; the level makes up for it
CLICK = TimedHit(onset_s=0.0, drum=Drum.CLICK, velocity=CLICK_VELOCITY)
ACCENT = TimedHit(onset_s=0.0, drum=Drum.CLICK, velocity=FIRST_CLICK)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipFinder:
    """Which clips of the bank a part plays. voices: by role; first: whose seconds the gestures take."""

    voices: dict[PartRole, Voice]
    first: Performance

    def __call__(self, part: Part | DrumPart) -> tuple[ClipUse, ...]:
        """The clip and its gain, velocity included, of every note or stroke."""
        if isinstance(part, DrumPart):
            hits = timed_hits(part, self.first)
            return tuple(ClipUse(key=bank.hit_key(hit), gain=bank.hit_gain(hit)) for hit in hits)
        voice = self.voices[part.role]
        notes = timed_notes(part, self.first)
        return tuple(ClipUse(key=bank.note_key(note, voice), gain=bank.note_gain(note)) for note in notes)


def page_performance(plan: LessonPlan) -> Performance:
    """The lesson's first tempo, with which the page begins."""
    return plan.lesson.performance(plan.lesson.tempos_bpm[0])


def clip_finder(pieces: Sequence[BandPiece], first: Performance) -> ClipFinder:
    """The finder for pieces whose parts of one role share one voice. Raises ValueError when they do not."""
    voices: dict[PartRole, Voice] = {}
    for part in _parts(pieces):
        voice = Voice(part.voice)
        if voices.setdefault(part.role, voice) is not voice:
            raise ValueError(f"the {part.role} plays both {voices[part.role]} and {voice}")
    return ClipFinder(voices=voices, first=first)


def sound_bank(
    pieces: Sequence[BandPiece],
    slowest: Performance,
    first: Performance,
    *,
    balance_on: BandPiece,
    seed: int,
    sounds: Sounds,
) -> SoundBank:
    """Render the bank.

    slowest: how long notes are held at most; first: whose seconds the gestures take; balance_on: the piece that sets
    the levels; sounds: where single notes and strokes come from.
    """
    balanced = balance_on.score
    mixed = mix_stems(
        render_track(balanced, slowest.over(balanced.measures), seed=seed, sounds=sounds).dry, SAMPLE_RATE
    )
    sprites = {}
    for role, voice in clip_finder(pieces, first).voices.items():
        notes = [
            note
            for piece in pieces
            for part in piece.score.parts
            if part.role is role
            for note in _held(part, slowest.over(piece.score.measures), first)
        ]
        sprite = bank.pitched_sprite(notes, voice, seed=seed, sounds=sounds)
        sprites[role] = page_sprite(role, sprite, sprite.audio, mixed.gains_db[role], release_s=bank.RELEASE_S)
    hits = [CLICK, ACCENT, *_strokes(pieces)]
    kit = bank.drum_sprite(hits, seed=seed, sounds=sounds)
    sprites[PartRole.DRUMS] = page_sprite(
        PartRole.DRUMS, kit, _panned(kit), mixed.gains_db[PartRole.DRUMS], release_s=None
    )
    return SoundBank(
        sprites=sprites,
        click=ClipUse(key=bank.hit_key(CLICK), gain=bank.hit_gain(CLICK)),
        accent=ClipUse(key=bank.hit_key(ACCENT), gain=bank.hit_gain(ACCENT)),
        impulse=flac_bytes(_at_peak(impulse_response(SAMPLE_RATE))[0], SAMPLE_RATE),
    )


def _held(part: Part, slowest: Performance, first: Performance) -> list[TimedNote]:
    """The notes as long as at the slowest tempo, with the gestures of the first."""
    pairs = zip(timed_notes(part, slowest), timed_notes(part, first), strict=True)
    return [replace(held, gesture=note.gesture) for held, note in pairs]


def _parts(pieces: Iterable[BandPiece]) -> list[Part]:
    return [part for piece in pieces for part in piece.score.parts if part.notes]


def _strokes(pieces: Iterable[BandPiece]) -> list[TimedHit]:
    kits = [piece.score.drums for piece in pieces if piece.score.drums is not None]
    return [TimedHit(onset_s=0.0, drum=hit.drum, velocity=hit.velocity) for kit in kits for hit in kit.hits]


def page_sprite(
    role: PartRole, sprite: bank.Sprite, audio: np.ndarray, gain_db: float, *, release_s: float | None
) -> Sprite:
    """A sprite as the page has it, at full scale, with the level that makes up for it and its seat in the room."""
    scaled, factor = _at_peak(audio)
    left, right = (round(float(gain), 6) for gain in Pan(SEATS[role].pan).gains)
    return Sprite(
        audio=flac_bytes(scaled, sprite.sample_rate),
        sample_rate_hz=sprite.sample_rate,
        clips={
            clip.key: Clip(
                start_frames=round(clip.start_s * sprite.sample_rate),
                length_frames=round(clip.length_s * sprite.sample_rate),
            )
            for clip in sprite.clips
        },
        level=amplitude_from_db(gain_db - db_from_amplitude(factor)),
        release_s=release_s,
        room=amplitude_from_db(SEATS[role].send_db),
        sides=(left, right) if audio.ndim == 1 else None,
    )


def _at_peak(audio: np.ndarray) -> tuple[np.ndarray, float]:
    """Scaled to ``PEAK``, and the factor."""
    factor = PEAK / max(float(np.abs(audio).max(initial=0.0)), 1e-9)
    return (audio * np.float32(factor)).astype(np.float32), factor


def _panned(kit: bank.Sprite) -> np.ndarray:
    """The kit's sprite in stereo, every piece in its place. Returns float32 (n, 2)."""
    stereo = np.repeat(kit.audio[:, None], 2, axis=1)
    for clip in kit.clips:
        drum = Drum(clip.key.rsplit(" ", 1)[0])
        start = round(clip.start_s * kit.sample_rate)
        end = start + round(clip.length_s * kit.sample_rate)
        stereo[start:end] *= Pan(PAN.get(drum, 0.0)).gains
    return stereo
