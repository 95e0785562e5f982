"""The audio files of one tempo: the band, the band with a demonstration, and every stem.

``band`` is what the student plays over; ``demonstration`` has the lead as well. A stem carries its own share of the
room. Stems sum to the demonstration before limiting, all of them lower by one amount so that none is clipped. The two
MP3 files take longer than all else together and are encoded beside it, each in a thread of its own: the encoder works
outside the interpreter's lock.
"""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np

from phrasewright.app.sounds import AudioWish
from phrasewright.band.drums import thinned
from phrasewright.score.model import PartRole, Score
from phrasewright.score.performance import Performance
from phrasewright.sound.encode import LOSSLESS, write_sound
from phrasewright.sound.lossy import write_mix
from phrasewright.sound.mix import Mix, SeatedStems, mix_stems, mix_without
from phrasewright.sound.modes import AudioArray
from phrasewright.sound.sounds import Sounds
from phrasewright.sound.track import Track, render_track
from phrasewright.units import amplitude_from_db, db_from_amplitude

COUNT_IN_BARS = 1
ENCODERS = 2  # one for each MP3 file
STEM_HEADROOM_DB = 6  # how much lower the files of stems are than the stems of the mix: stems are not limited


def tempo_folder(tempo_bpm: float) -> str:
    """Folder of a tempo's files: ``audio/75-bpm``."""
    return f"audio/{tempo_bpm:g}-bpm"


def play(
    score: Score, performance: Performance, *, seed: int, sounds: Sounds, count_in_bars: int = COUNT_IN_BARS
) -> Track:
    """One tempo as dry stems, counted in, with no more strokes on the hat than a hand can play."""
    performance = performance.over(score.measures)
    drums = None if score.drums is None else thinned(score.drums, performance)
    return render_track(replace(score, drums=drums), performance, count_in_bars=count_in_bars, seed=seed, sounds=sounds)


def write_audio(score: Score, performance: Performance, folder: Path, *, seed: int, wish: AudioWish) -> None:
    """Render one tempo and write its files into ``folder``, which is made; a score without a lead has no demonstration.

    Raises OutputError, and SoundError when a SoundFont lacks a sound.
    """
    folder.mkdir(parents=True)
    track = play(score, performance, seed=seed, sounds=wish.sounds)
    mix = mix_stems(track.dry, track.sample_rate)
    with ThreadPoolExecutor(max_workers=ENCODERS) as encoders:
        waiting = []
        for name, audio in _mixes(mix, track.sample_rate).items():
            for kind in wish.files:
                path = folder / f"{name}.{kind}"
                if kind in LOSSLESS:
                    write_mix(path, audio, track.sample_rate)
                else:
                    waiting.append(encoders.submit(write_mix, path, audio, track.sample_rate))
        if wish.stems:
            _write_stems(mix.stems, folder, track.sample_rate, wish)
        for one in waiting:
            one.result()


def stem_headroom_db(stems: SeatedStems) -> int:
    """How much lower the stems of one mix are written, in dB: all alike, and no sample of any is clipped."""
    highest = max((float(np.abs(stem).max(initial=0.0)) for stem in stems.values()), default=0.0)
    return max(STEM_HEADROOM_DB, math.ceil(db_from_amplitude(max(highest, 1.0))))


def _mixes(mix: Mix, sample_rate: int) -> dict[str, AudioArray]:
    if PartRole.LEAD not in mix.stems:
        return {"band": mix.master}
    return {"demonstration": mix.master, "band": mix_without(mix, PartRole.LEAD, sample_rate)}


def _write_stems(stems: SeatedStems, folder: Path, sample_rate: int, wish: AudioWish) -> None:
    share = np.float32(amplitude_from_db(-stem_headroom_db(stems)))
    for role, stem in stems.items():
        stem *= share
        for kind in wish.stems:
            write_sound(folder / f"stem-{role}.{kind}", stem, sample_rate)
