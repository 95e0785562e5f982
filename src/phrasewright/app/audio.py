"""The audio files of one tempo: the band, the band with a demonstration, and every stem.

``band`` is what the student plays over; ``demonstration`` has the lead as well. Stems sum to the demonstration
before limiting, and a stem carries its own share of the room. The two MP3 files take longer than all else together
and are encoded beside it, each in a thread of its own: the encoder works outside the interpreter's lock.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from phrasewright.band.drums import thinned
from phrasewright.score.model import PartRole, Score
from phrasewright.score.performance import Performance
from phrasewright.sound.encode import write_flac, write_mp3
from phrasewright.sound.mix import mix_stems, mix_without
from phrasewright.sound.track import Track, render_track

COUNT_IN_BARS = 1
ENCODERS = 2  # one for each MP3 file


def tempo_folder(tempo_bpm: float) -> str:
    """Folder of a tempo's files: ``audio/75-bpm``."""
    return f"audio/{tempo_bpm:g}-bpm"


def play(score: Score, performance: Performance, *, seed: int, count_in_bars: int = COUNT_IN_BARS) -> Track:
    """One tempo as dry stems, counted in, with no more strokes on the hat than a hand can play."""
    performance = performance.over(score.measures)
    drums = None if score.drums is None else thinned(score.drums, performance)
    return render_track(replace(score, drums=drums), performance, count_in_bars=count_in_bars, seed=seed)


def write_audio(score: Score, performance: Performance, folder: Path, *, seed: int) -> None:
    """Render one tempo and write its files into ``folder``, which is made; a score without a lead has no demonstration.

    Raises OutputError.
    """
    folder.mkdir(parents=True)
    track = play(score, performance, seed=seed)
    mix = mix_stems(track.dry, track.sample_rate)
    mixes = {"band": mix.master}
    if PartRole.LEAD in mix.stems:
        mixes = {"band": mix_without(mix, PartRole.LEAD, track.sample_rate), "demonstration": mix.master}
    with ThreadPoolExecutor(max_workers=ENCODERS) as encoders:
        waiting = [
            encoders.submit(write_mp3, folder / f"{name}.mp3", audio, track.sample_rate)
            for name, audio in mixes.items()
        ]
        for role, stem in mix.stems.items():
            write_flac(folder / f"stem-{role}.flac", stem, track.sample_rate)
        for name, audio in mixes.items():
            write_flac(folder / f"{name}.flac", audio, track.sample_rate)
        for one in waiting:
            one.result()
