"""Sampled sound: on its sample, in tune as far as the font is, the same twice, and plain words when it cannot be.

What a font holds is its own affair: general fonts are some cents off here and there and answer late in some samples,
so limits are wider than for the models.
"""

from __future__ import annotations

import sys
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from sound_measures import RATE, cents_off, rms

from phrasewright.score.model import Drum
from phrasewright.sound import synth
from phrasewright.sound.events import TimedHit, TimedNote
from phrasewright.sound.render import drum_gain, render_hits, render_notes
from phrasewright.sound.sampled import Sampled
from phrasewright.sound.soundfonts import SoundError, find_font
from phrasewright.sound.voices import Voice, layer_gain
from sampled_sound import every_font, needs_sampled, some_font

FONT_CENTS = 8.0  # general fonts tune their samples to within a few cents
STEP_CENTS = 2.0  # the synthesizer counts pitch in whole cents, and does so twice


def note(voice, pitch, *, a4_hz=440.0, duration_s=1.6, velocity=0.7):
    return Sampled(some_font(), a4_hz).note(voice, pitch, duration_s, velocity, sample_rate=RATE, seed=0)


@needs_sampled
@pytest.mark.parametrize(("voice", "pitches"), [(Voice.GUITAR, range(40, 84, 6)), (Voice.BASS, range(28, 56, 5))])
def test_concert_pitch(voice, pitches):
    """Lead and bass range: near the pitch asked for, and exactly as far from 440 Hz as asked for."""
    for pitch in pitches:
        usual = cents_off(note(voice, pitch), pitch)
        assert abs(usual) < FONT_CENTS
        for a4_hz in (415.0, 466.0):
            assert abs(cents_off(note(voice, pitch, a4_hz=a4_hz), pitch, a4_hz=a4_hz) - usual) < STEP_CENTS
    assert np.array_equal(note(voice, 45), note(voice, 45))  # tuned back


@needs_sampled
@pytest.mark.parametrize("voice", Voice)
def test_notes_sound_where_the_schedule_says(voice):
    """Onsets between the synthesizer's blocks of 64: silence before, sound within a millisecond, whatever the block."""
    onsets_s = [0.5 + 0.9 * index + index * 7 / RATE for index in range(4)]
    notes = [TimedNote(onset_s=at, duration_s=0.2, pitch_midi=52, velocity=0.8) for at in onsets_s]
    stem = render_notes(notes, voice, length=5 * RATE, sounds=Sampled(some_font()))
    for at in onsets_s:
        first = round(at * RATE)
        piece = np.abs(stem[first : first + RATE // 4])
        assert np.argmax(piece > 0.02 * piece.max()) <= RATE // 1000
        assert np.abs(stem[first - 50 : first]).max() < 0.02 * piece.max()


@needs_sampled
@pytest.mark.parametrize("drum", Drum)
def test_strokes_sound_where_the_schedule_says(drum):
    """Every piece of the kit is there and begins within a millisecond; harder is louder."""
    hits = [TimedHit(onset_s=at, drum=drum, velocity=velocity) for at, velocity in ((1.001, 0.5), (7.0023, 1.0))]
    stem = render_hits(hits, length=13 * RATE, sounds=Sampled(some_font()))
    levels = []
    for hit in hits:
        first = round(hit.onset_s * RATE)
        piece = np.abs(stem[first : first + RATE // 4]).max(axis=1)
        assert np.argmax(piece > 0.02 * piece.max()) <= RATE // 1000
        levels.append(rms(piece))
    assert levels[1] > 1.4 * levels[0] > 0.0


@needs_sampled
def test_velocity_follows_our_law():
    """A layer played at its own velocity is as loud as the law that gains inside a layer follow, within 1.5 dB."""
    loud = rms(note(Voice.GUITAR, 52, velocity=0.9))
    for velocity in (0.3, 0.5, 0.7):
        wanted_db = 20 * np.log10((velocity / 0.9) ** 1.5)
        assert 20 * np.log10(rms(note(Voice.GUITAR, 52, velocity=velocity)) / loud) == pytest.approx(wanted_db, abs=1.5)
    assert layer_gain(0.9) == pytest.approx(1.0)
    assert drum_gain(TimedHit(onset_s=0.0, drum=Drum.KICK, velocity=0.9)) == pytest.approx(1.0)


@needs_sampled
def test_notes_end():
    """A tail after the release and no click: it dies away and ends at silence."""
    held = note(Voice.ORGAN, 60, duration_s=0.5)
    assert 0.5 * RATE <= len(held) <= 1.01 * RATE
    assert abs(held[-1]) < 1e-3 * np.abs(held).max()
    ringing = note(Voice.ACOUSTIC_GUITAR, 52, duration_s=0.5)
    assert len(ringing) <= 1.01 * RATE  # whatever the font lets strings do after their release


@needs_sampled
@pytest.mark.parametrize("font", every_font(), ids=lambda path: path.name)
def test_every_font_here_plays(font):
    """Uncompressed and compressed fonts alike: every voice sounds, the same twice and from any thread."""
    sounds = Sampled(font)

    def play(voice):
        return sounds.note(voice, 52, 0.3, 0.7, sample_rate=RATE, seed=0)

    with ThreadPoolExecutor(4) as pool:
        first, second = list(pool.map(play, Voice)), list(pool.map(play, Voice))
    assert all(np.array_equal(one, other) for one, other in zip(first, second, strict=True))
    assert all(rms(sound) > 1e-4 for sound in first)


def test_fonts_are_found(tmp_path):
    """By path, beside the lesson, by name with and without its end; the usual one first, else the first there is."""
    folder, lesson = tmp_path / "fonts", tmp_path / "lessons"
    for path in (folder / "Zebra.sf2", folder / "apple.sf3", lesson / "own.sf2"):
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"font")
    assert find_font(folders=[folder]) == folder / "Zebra.sf2"
    assert find_font("apple", folders=[folder]) == folder / "apple.sf3"
    assert find_font("zebra.SF2", folders=[folder]) == folder / "Zebra.sf2"
    assert find_font("own.sf2", beside=lesson, folders=[folder]) == lesson / "own.sf2"
    assert find_font(str(lesson / "own.sf2"), folders=[]) == lesson / "own.sf2"
    (folder / "default-GM.sf2").write_bytes(b"font")
    assert find_font(folders=[folder]) == folder / "default-GM.sf2"
    with pytest.raises(SoundError, match=r"apple\.sf3"):
        find_font("pear", folders=[folder])
    with pytest.raises(SoundError, match="apt-get install"):
        find_font(folders=[tmp_path / "nothing"])


def test_without_fluidsynth(monkeypatch, tmp_path):
    """The message names the packages to install."""
    monkeypatch.setitem(sys.modules, "fluidsynth", None)
    monkeypatch.setattr(synth, "_library", synth._library.__wrapped__)
    with pytest.raises(SoundError, match=r"libfluidsynth3.*phrasewright\[sampled\]"):
        synth.Player(tmp_path / "some.sf2", RATE)


@needs_sampled
def test_a_file_that_is_no_font(tmp_path):
    """It is named, and the program does not fall over."""
    path = tmp_path / "no-font.sf2"
    path.write_bytes(b"RIFF" + bytes(200))
    with pytest.raises(SoundError, match=r"no-font\.sf2 is not a SoundFont"):
        synth.Player(path, RATE)
