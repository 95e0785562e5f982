"""Pitch, technique and tuning, against recorded notes of known pitch and lines with known techniques."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from played_lines import played_line
from sample_lines import recorded_notes

from phrasewright.listen.hear.attack import attacks_of
from phrasewright.listen.hear.joins import jumps
from phrasewright.listen.hear.marks import Before, marks_of
from phrasewright.listen.hear.pitch_curve import RoughNote, note_curves, pitch_curve
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.hear.tuning import tuning_of
from phrasewright.listen.heard import CURVE_STEP_S, HeardNote, HeardTechnique, Mark
from phrasewright.neck.instrument import StringFret
from phrasewright.score.technique import DEAD, Start
from phrasewright.sound.voices import Voice
from phrasewright.units import midi_from_hz


@pytest.mark.parametrize("guitar", ["acoustic", "electric", "nylon"])
def test_recorded_notes_have_their_measured_pitch(data_dir: Path, guitar: str) -> None:
    """data/guitar_samples/true_pitch.csv: half of the notes within 2 cents, 95 of 100 within 6."""
    off_cents = []
    for sound, hz in recorded_notes(data_dir, guitar).values():
        curve = pitch_curve(sound, 0.005, min(len(sound) / RATE_HZ, 1.2), round(midi_from_hz(hz)))
        off_cents.append(abs(100 * (curve.pitch_midi - midi_from_hz(hz))))
    assert np.median(off_cents) < 2.0
    assert np.quantile(off_cents, 0.95) < 6.0


def _glide(cents: np.ndarray, midi: float = 64.0) -> np.ndarray:
    """A tone of eight partials whose pitch follows a curve given every sample."""
    phase = 2 * np.pi * np.cumsum(440 * 2 ** ((midi - 69 + cents / 100) / 12)) / RATE_HZ
    return sum(np.sin(k * phase) / k for k in range(1, 9)).astype(np.float32) * 0.1


def test_a_bend_and_a_vibrato_are_followed() -> None:
    """A bend of 200 cents within 3 cents at its end; a vibrato of 35 cents at 5.5 Hz within 5 per cent."""
    time_s = np.arange(int(1.2 * RATE_HZ)) / RATE_HZ
    bend = 200 * (0.5 - 0.5 * np.cos(np.pi * np.clip((time_s - 0.1) / 0.15, 0, 1)))
    curve = pitch_curve(_glide(bend), 0.0, 1.2, 64)
    assert curve.pitch_midi == pytest.approx(66.0, abs=0.03)
    mark = marks_of(curve, 0.0, attacks_of(_glide(bend), [0.0])[0])
    assert [one.technique for one in mark] == [HeardTechnique.BEND]
    assert mark[0].cents == pytest.approx(200, abs=6)
    shaken = 35 * np.sin(2 * np.pi * 5.5 * time_s)
    curve = pitch_curve(_glide(shaken), 0.0, 1.2, 64)
    (mark,) = marks_of(curve, 0.0, attacks_of(_glide(shaken), [0.0])[0])
    assert mark.technique is HeardTechnique.VIBRATO
    assert mark.cents == pytest.approx(35, rel=0.05)
    assert mark.rate_hz == pytest.approx(5.5, rel=0.03)


def test_techniques_of_our_own_strings_are_heard() -> None:
    """Lines of the string models: most of what was played is heard, and little is heard that was not."""
    played, found, false, plain = Counter[str](), Counter[str](), Counter[str](), 0
    for seed, voice in enumerate((Voice.GUITAR, Voice.ACOUSTIC_GUITAR, Voice.NYLON_GUITAR, Voice.DRIVEN_GUITAR)):
        line = played_line(300 + seed, voice)
        curves = note_curves(line.audio, line.rough)
        attacks = attacks_of(line.audio, [note.onset_s for note in line.rough])
        before = None
        for note, rough, curve, attack in zip(line.notes, line.rough, curves, attacks, strict=True):
            kinds = {mark.technique for mark in marks_of(curve, rough.onset_s, attack, before)}
            before = Before(curve=curve, onset_s=rough.onset_s, offset_s=rough.offset_s)
            wanted = set()
            if note.touch == DEAD:
                wanted = {HeardTechnique.DEAD}
            elif note.touch.start is Start.BENT:
                wanted = {HeardTechnique.BEND}
            elif note.touch.vibrato:
                wanted = {HeardTechnique.VIBRATO}
            elif note.touch.start in (Start.HAMMERED, Start.PULLED):
                wanted = {HeardTechnique.LEGATO}
            plain += not wanted and not note.touch.is_legato
            for kind in wanted:
                played[kind] += 1
                found[kind] += kind in kinds
            if not wanted and not note.touch.is_legato:
                false.update(kinds)
    for kind, least in (("bend", 0.85), ("vibrato", 0.85), ("dead note", 0.8), ("hammer-on or pull-off", 0.7)):
        assert found[HeardTechnique(kind)] >= least * played[HeardTechnique(kind)] > 0, (kind, found, played)
    assert sum(false.values()) <= 0.06 * plain


def test_a_jump_is_no_bend() -> None:
    """A pitch that rests, jumps within two steps and rests again is a join; one that bends is not."""
    steps = np.arange(40)
    jump = np.where(steps < 20, 0.0, 200.0)
    bend = 200 * (0.5 - 0.5 * np.cos(np.pi * np.clip((steps - 12) * CURVE_STEP_S / 0.1, 0, 1)))
    assert jumps(jump) == [18] or jumps(jump) == [19]
    assert jumps(bend) == []
    assert jumps(np.full(40, np.nan)) == []


def _note(number: int, midi: float, **more: object) -> HeardNote:
    curve = tuple(np.zeros(30))
    at_s = number * 0.5
    return HeardNote(onset_s=at_s, offset_s=at_s + 0.3, pitch_midi=midi, curve_cents=curve, **more)  # type: ignore[arg-type]


def test_tuning_of_the_whole_and_of_a_string() -> None:
    """Twelve cents low all over, one string fourteen sharp; a bend tells nothing, nor do few notes."""
    rng = np.random.default_rng(3)
    notes, places = [], []
    for number in range(48):
        string = 1 + number % 6
        off = -0.12 + (0.14 if string == 3 else 0.0) + rng.normal(0, 0.02)
        notes.append(_note(number, 50 + number % 12 + off))
        places.append(StringFret(string, 5))
    notes.append(_note(48, 60.7, marks=(Mark(technique=HeardTechnique.BEND, cents=150),)))
    heard = tuning_of(notes, [*places, None])
    assert heard is not None
    assert heard.cents == pytest.approx(-12, abs=3)
    assert [string.string for string in heard.strings if string.is_off] == [3]
    assert tuning_of(notes[:5]) is None


def test_overlapping_notes_keep_their_own_pitch() -> None:
    """A fifth rings over a note that goes on: both within 3 cents."""
    audio = np.zeros(int(1.5 * RATE_HZ), dtype=np.float32)
    low, high = _glide(np.zeros(int(1.2 * RATE_HZ)), 50.07), _glide(np.zeros(int(0.9 * RATE_HZ)), 57.02)
    audio[: len(low)] += low
    audio[int(0.4 * RATE_HZ) : int(0.4 * RATE_HZ) + len(high)] += high
    rough = [RoughNote(onset_s=0.0, offset_s=1.2, row=50), RoughNote(onset_s=0.4, offset_s=1.3, row=57)]
    first, second = note_curves(audio, rough)
    assert first.pitch_midi == pytest.approx(50.07, abs=0.03)
    assert second.pitch_midi == pytest.approx(57.02, abs=0.03)
