"""Lines with techniques, played by the string models, with what was played in them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from random import Random

import numpy as np
import soxr

import sample_scores
from phrasewright.listen.hear.pitch_curve import RoughNote
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.neck.instrument import StringFret
from phrasewright.score.model import Note, Part, PartRole
from phrasewright.score.performance import Performance
from phrasewright.score.technique import DEAD, PLAIN, Bend, Start, Touch
from phrasewright.sound.events import SAMPLE_RATE, TimedNote, timed_notes
from phrasewright.sound.render import render_notes
from phrasewright.sound.voices import Voice
from phrasewright.theory.pitch import NoteName, Pitch

NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
GUITAR = sample_scores.GUITAR
JITTER_S = 0.004  # of onsets as transcribed


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlayedLine:
    """A line. audio: float32 (n,) at ``RATE_HZ``; rough: its notes as a transcription would give them."""

    audio: np.ndarray
    notes: tuple[Note, ...]
    timed: tuple[TimedNote, ...]
    rough: tuple[RoughNote, ...]


def played_line(seed: int, voice: Voice = Voice.GUITAR, *, notes: int = 40, touched: float = 0.6) -> PlayedLine:
    """A random line on one to two strings. touched: share of notes that are played with a technique."""
    rng = Random(seed)
    part = Part(role=PartRole.LEAD, name="Lead", notes=tuple(_notes(rng, notes, touched)), instrument=GUITAR)
    timed = timed_notes(part, Performance(tempo_bpm=rng.uniform(80, 130)), lead_in_s=0.3)
    length = int((timed[-1].onset_s + timed[-1].duration_s + 0.5) * SAMPLE_RATE)
    sound = render_notes(timed, voice, length=length, seed=seed)
    audio = soxr.resample(sound, SAMPLE_RATE, RATE_HZ).astype(np.float32)
    rough = [_rough(note, time, rng) for note, time in zip(part.notes, timed, strict=True)]
    return PlayedLine(audio=audio, notes=part.notes, timed=timed, rough=tuple(rough))


def _rough(note: Note, time: TimedNote, rng: Random) -> RoughNote:
    bent = note.touch.bend.semitones if note.touch.bend else 0
    onset_s = time.onset_s + rng.gauss(0.0, JITTER_S)
    return RoughNote(onset_s=onset_s, offset_s=time.onset_s + time.duration_s, row=time.pitch_midi - bent)


def _notes(rng: Random, count: int, touched: float) -> list[Note]:
    made: list[Note] = []
    at, string, fret = Fraction(0), 2, 7
    while len(made) < count:
        length = rng.choice([Fraction(1, 2), Fraction(1, 2), Fraction(1), Fraction(1), Fraction(3, 2), Fraction(2)])
        touch = _touch(rng, length, made, at) if rng.random() < touched else PLAIN
        if touch.is_legato:
            frets = range(2, 8) if touch.start is Start.SLID else range(1, 5)
            sign = {Start.HAMMERED: 1, Start.PULLED: -1, Start.SLID: rng.choice([1, -1])}[touch.start]
            step = sign * rng.choice(frets)
            if not 2 <= fret + step <= 16:
                touch = PLAIN
            else:
                fret += step
        if not touch.is_legato:
            string, fret = rng.randint(1, 5), rng.randint(3, 14)
            string = min(string, 3) if touch.bend else string
        place = StringFret(string, fret)
        midi = GUITAR.midi_at(place) + (touch.bend.semitones if touch.bend else 0)
        pitch = Pitch.from_midi(midi, NoteName.parse(NAMES[midi % 12]))
        made.append(Note(onset=at, duration=length, pitch=pitch, place=place, touch=touch))
        at += length + (Fraction(1, 2) if rng.random() < 0.2 else 0)
    return made


def _touch(rng: Random, length: Fraction, made: list[Note], at: Fraction) -> Touch:
    goes_on = bool(made) and made[-1].end == at and made[-1].touch.start is not Start.BENT and made[-1].touch != DEAD
    if length >= Fraction(3, 2):
        if rng.random() < 0.3:
            return Touch(start=Start.BENT, bend=Bend(semitones=rng.choice([1, 2])), vibrato=True)
        return Touch(vibrato=True)
    if length >= 1 and rng.random() < 0.5:
        return Touch(start=Start.BENT, bend=Bend(semitones=rng.choice([1, 2])))
    if goes_on and rng.random() < 0.8:
        return Touch(start=rng.choice([Start.HAMMERED, Start.PULLED, Start.SLID]))
    return DEAD
