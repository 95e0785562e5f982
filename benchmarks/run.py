"""Measure a build of the demonstration lesson, stage by stage, and a rebuild with nothing changed.

usage: python benchmarks/run.py [lesson.toml]

Prints a table: seconds for each stage alone in one process, files and size, then the whole command as a person runs
it (two stages at a time), the unchanged rebuild, the speed of audio against real time, and peak memory.
Baselines: real time for audio; the first build for the rebuild.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from importlib import resources
from pathlib import Path

from phrasewright.app.source import read_source
from phrasewright.app.stages import plan_stages


def main() -> None:
    own = resources.files("phrasewright.lesson").joinpath("demo.toml")
    lesson = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(str(own))
    with tempfile.TemporaryDirectory() as folder:
        _stages(lesson, Path(folder))
        _commands(lesson, Path(folder) / "pack")


def _stages(lesson: Path, folder: Path) -> None:
    started = time.perf_counter()
    planned = plan_stages(read_source(lesson))
    print(f"| reading and planning | {time.perf_counter() - started:.2f} s | |")
    audio_s = played_s = 0.0
    for stage in planned.stages:
        here = folder / stage.name.replace(" ", "-")
        here.mkdir()
        started = time.perf_counter()
        stage.make(here)
        spent = time.perf_counter() - started
        files = [path for path in here.rglob("*") if path.is_file()]
        size_mb = sum(path.stat().st_size for path in files) / 1e6
        print(f"| {stage.name} | {spent:.2f} s | {len(files)} files, {size_mb:.1f} MB |")
        if stage.name.startswith("audio"):
            audio_s += spent
            played_s += _length_s(here)
    print(f"| audio against real time | {played_s / audio_s:.0f} x | 4 stems, 2 mixes, FLAC and MP3 |")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"| peak memory | {peak_mb:.0f} MB | this process, without the engraver's own |")


def _length_s(folder: Path) -> float:
    import soundfile

    return float(soundfile.info(next(folder.rglob("band.flac"))).duration)


def _commands(lesson: Path, pack: Path) -> None:
    command = [sys.executable, "-m", "phrasewright", "build", str(lesson), "--out", str(pack), "--json"]
    seconds = []
    for _ in range(2):
        started = time.perf_counter()
        report = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
        seconds.append(time.perf_counter() - started)
    print(f"| the command, first build | {seconds[0]:.2f} s | {report['files']} files |")
    print(f"| the command, nothing changed | {seconds[1]:.2f} s | {seconds[0] / seconds[1]:.0f} x faster |")


if __name__ == "__main__":
    main()
