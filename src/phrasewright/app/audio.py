"""The audio files of one tempo: the band, the band with a demonstration, and every stem.

``band`` is what the student plays over; ``demonstration`` has the lead as well. Stems sum to the demonstration
before limiting, and a stem carries its own share of the room.
"""

from __future__ import annotations

from pathlib import Path

from phrasewright.app.pieces import BandPiece
from phrasewright.score.model import PartRole
from phrasewright.score.performance import Performance
from phrasewright.sound.encode import write_flac, write_mp3
from phrasewright.sound.mix import mix_stems, mix_without
from phrasewright.sound.track import render_track

COUNT_IN_BARS = 1


def tempo_folder(tempo_bpm: float) -> str:
    """Folder of a tempo's files: ``audio/75-bpm``."""
    return f"audio/{tempo_bpm:g}-bpm"


def write_audio(piece: BandPiece, performance: Performance, folder: Path, *, seed: int) -> None:
    """Render one tempo and write its files into ``folder``, which is made. Raises OutputError."""
    folder.mkdir(parents=True)
    track = render_track(piece.score, performance, count_in_bars=COUNT_IN_BARS, seed=seed)
    demonstration = mix_stems(track.dry, track.sample_rate)
    for role, stem in demonstration.stems.items():
        write_flac(folder / f"stem-{role}.flac", stem, track.sample_rate)
    write_flac(folder / "demonstration.flac", demonstration.master, track.sample_rate)
    write_mp3(folder / "demonstration.mp3", demonstration.master, track.sample_rate)
    band = mix_without(demonstration, PartRole.LEAD, track.sample_rate)
    write_flac(folder / "band.flac", band, track.sample_rate)
    write_mp3(folder / "band.mp3", band, track.sample_rate)
