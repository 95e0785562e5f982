"""Sprites: every event finds its clip, clips are whole and small."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_measures import RATE, rms

from phrasewright.score.model import Drum
from phrasewright.sound import bank
from phrasewright.sound.encode import flac_bytes
from phrasewright.sound.events import TimedHit, TimedNote
from phrasewright.sound.render import render_notes
from phrasewright.sound.voices import Voice, velocity_layer

some_notes = st.lists(
    st.builds(
        TimedNote,
        onset_s=st.floats(0, 60),
        duration_s=st.floats(0.05, 3.0),
        pitch_midi=st.integers(40, 60),
        velocity=st.floats(0.1, 1.0),
    ),
    min_size=1,
    max_size=6,
)
some_hits = st.lists(
    st.builds(TimedHit, onset_s=st.floats(0, 60), drum=st.sampled_from(list(Drum)), velocity=st.floats(0.1, 1.0)),
    min_size=1,
    max_size=8,
)


def check(sprite):
    """Clips lie inside the audio on whole samples, apart from each other, and end at silence."""
    end = 0
    for clip in sprite.clips:
        start, length = clip.start_s * sprite.sample_rate, clip.length_s * sprite.sample_rate
        assert start == pytest.approx(round(start), abs=1e-6)
        assert round(start) >= end
        end = round(start + length)
        assert end <= len(sprite.audio)
        assert abs(sprite.audio[end - 1]) < 0.002
    assert len({clip.key for clip in sprite.clips}) == len(sprite.clips)


@given(notes=some_notes)
@settings(max_examples=6)
def test_every_note_finds_its_clip(notes):
    """A key for each note, one clip for each key, held as long as the longest note that plays it."""
    sprite = bank.pitched_sprite(notes, Voice.GUITAR)
    check(sprite)
    assert {clip.key for clip in sprite.clips} == {bank.note_key(note, Voice.GUITAR) for note in notes}


@given(hits=some_hits)
@settings(max_examples=6)
def test_every_stroke_finds_its_clip(hits):
    """A key for each stroke, one clip for each key."""
    sprite = bank.drum_sprite(hits)
    check(sprite)
    assert {clip.key for clip in sprite.clips} == {bank.hit_key(hit) for hit in hits}


def test_page_and_stem_sound_alike():
    """A clip times the note's gain is the note of the stem (its first stroke variant)."""
    note = TimedNote(onset_s=0.0, duration_s=0.5, pitch_midi=57, velocity=0.77)
    sprite = bank.pitched_sprite([note], Voice.GUITAR)
    clip = sprite.clip(bank.note_key(note, Voice.GUITAR))
    start = round(clip.start_s * RATE)
    page = sprite.audio[start : start + RATE // 2] * bank.note_gain(note)
    stem = render_notes([note], Voice.GUITAR, length=RATE)[: RATE // 2]
    assert rms(page - stem) < 1e-3 * rms(stem)


def test_a_lesson_stays_small():
    """Lead of 12 pitches, bass of 15, 10 voicings of 4 strings, 12 drums, at 60 bpm: under 3 MB of FLAC together."""

    def line(pitches, duration_s, velocities=(0.6, 0.8)):
        return [
            TimedNote(onset_s=0.0, duration_s=duration_s, pitch_midi=p, velocity=v) for p in pitches for v in velocities
        ]

    hits = [TimedHit(onset_s=0.0, drum=drum, velocity=v) for drum in list(Drum)[:12] for v in (0.5, 0.8)]
    sprites = [
        bank.pitched_sprite(line(range(52, 76, 2), 2.0), Voice.GUITAR),
        bank.pitched_sprite(line(range(28, 43), 1.0), Voice.BASS),
        bank.pitched_sprite(line(range(48, 72), 2.0, (0.6,)), Voice.RHYTHM_GUITAR),
        bank.drum_sprite(hits),
    ]
    assert sum(len(flac_bytes(sprite.audio, sprite.sample_rate)) for sprite in sprites) < 3_000_000


def test_an_open_hat_is_closed_by_the_others():
    """The page learns which strokes silence which."""


def test_an_empty_part_gives_an_empty_sprite():
    """No notes, no clips, no error."""
    sprite = bank.pitched_sprite([], Voice.BASS)
    assert sprite.clips == ()
    assert sprite.audio.shape == (0,)
    with pytest.raises(KeyError):
        sprite.clip("bass 40 0.7")


def test_layers_share_a_clip():
    """Two notes of the same layer play the same clip at different gains."""
    soft, firm = (TimedNote(onset_s=0.0, duration_s=0.2, pitch_midi=50, velocity=v) for v in (0.65, 0.75))
    assert velocity_layer(0.65) == velocity_layer(0.75)
    assert bank.note_key(soft, Voice.BASS) == bank.note_key(firm, Voice.BASS)
    assert bank.note_gain(soft) < 1.0 < bank.note_gain(firm)
    assert np.isfinite(bank.hit_gain(TimedHit(onset_s=0.0, drum=Drum.KICK, velocity=0.3)))


def test_a_note_longer_than_its_clip_dies_away():
    """Past its longest note a clip is not damped: no 20 ms level falls by more than 6 dB until the last ones."""
    note = TimedNote(onset_s=0.0, duration_s=1.0, pitch_midi=45, velocity=0.7)
    sprite = bank.pitched_sprite([note], Voice.GUITAR)
    clip = sprite.audio[: round(sprite.clips[0].length_s * RATE)]
    assert len(clip) > 1.3 * RATE
    levels = 20 * np.log10([rms(part) for part in clip[RATE // 2 :][: RATE * 8 // 10].reshape(-1, RATE // 50)])
    assert np.diff(levels).min() > -6.0
    assert rms(clip[-RATE // 100 :]) < 0.01 * rms(clip[: RATE // 2])
