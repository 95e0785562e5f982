"""The listener beside two general libraries, on the same takes in one run: note F1 by condition, and speed on one core.

usage: python benchmarks/bench_listen.py [TAKES] [--memory]

TAKES: a folder of takes with exact truth (``index.json``, ``<name>.flac``, ``<name>.json`` with ``cond``, ``notes`` of
``onset``, ``offset``, ``hz``, and ``f0_range``); without it thirty are made by ``checks/make_takes.py`` beside the open
data, seed 7. Needs the extra ``bench``, and basic-pitch, which asks for a far
larger library that it does not need here: ``pip install --no-deps basic-pitch``. A note is right when its onset is
within 50 ms and its pitch within 50 cents, for a bend of any pitch it has; F with offsets in brackets (20 % or 50 ms).
Each library at its own settings; basic-pitch also with short notes allowed (58 ms) and made one note at a time.
--memory: peak memory of listening to a take of ten minutes, in a process of its own.
"""

from __future__ import annotations

import argparse
import json
import logging
import os
import subprocess
import sys
import tempfile
import time
import warnings
from collections import defaultdict
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "ORT_NUM_THREADS"):
    os.environ.setdefault(name, "1")
logging.disable(logging.WARNING)
warnings.simplefilter("ignore")

import mir_eval  # noqa: E402
import numpy as np  # noqa: E402
import soundfile  # noqa: E402

from phrasewright.listen.hear.hear import hear  # noqa: E402
from phrasewright.listen.take_file import read_take  # noqa: E402
from phrasewright.units import hz_from_midi  # noqa: E402

LONG_S = 600
LISTEN_ALONE = """
import resource, sys
from pathlib import Path
from phrasewright.app.listening import listen_to, listen_wish
listen_to([Path(sys.argv[1])], Path(sys.argv[2]), listen_wish(None))
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""
Method = Callable[[Path], np.ndarray]  # a take to (notes, 3): onset s, offset s, Hz


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("takes", type=Path, nargs="?")
    parser.add_argument("--memory", action="store_true")
    wish = parser.parse_args()
    os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
    with tempfile.TemporaryDirectory() as folder:
        compare(wish.takes or made(Path(folder)), memory_too=wish.memory)


def made(folder: Path) -> Path:
    data = Path(os.environ.get("PHRASEWRIGHT_DATA") or Path(__file__).resolve().parents[2] / "shared" / "data")
    maker = data.parent / "checks" / "make_takes.py"
    subprocess.run([sys.executable, maker, folder, "--seed", "7", "--per-guitar", "1"], check=True)
    return folder


def compare(takes: Path, *, memory_too: bool) -> None:
    names = json.loads((takes / "index.json").read_text())
    truths = {name: json.loads((takes / f"{name}.json").read_text()) for name in names}
    methods = {"phrasewright": ours, "swift-f0": swift_f0(), **basic_pitch()}
    table, seconds = {}, sum(soundfile.info(takes / f"{name}.flac").duration for name in names)
    for method, listen in methods.items():
        listen(takes / f"{names[0]}.flac")  # models are loaded before the clock runs
        begun = time.perf_counter()
        found = {name: listen(takes / f"{name}.flac") for name in names}
        table[method] = (scores(truths, found), seconds / (time.perf_counter() - begun))
    report(table)
    if memory_too:
        memory(takes / f"{names[0]}.flac")


def ours(path: Path) -> np.ndarray:
    notes = [note for note in hear(read_take(path).audio).notes if not note.is_dead]
    return np.array([(note.onset_s, note.offset_s, hz_from_midi(note.pitch_midi)) for note in notes]).reshape(-1, 3)


def swift_f0() -> Method:
    from swift_f0 import SwiftF0, segment_notes

    detector = SwiftF0(threads=1)

    def listen(path: Path) -> np.ndarray:
        notes = segment_notes(detector.detect_file(str(path)))
        return np.array([(note.start, note.end, note.pitch_hz) for note in notes]).reshape(-1, 3)

    return listen


def basic_pitch() -> dict[str, Method]:
    from basic_pitch import ICASSP_2022_MODEL_PATH
    from basic_pitch.inference import Model, predict

    model = Model(Path(ICASSP_2022_MODEL_PATH).with_suffix(".onnx"))

    def usual(path: Path) -> np.ndarray:
        return as_rows(predict(path, model)[2])

    def short_and_single(path: Path) -> np.ndarray:
        return one_at_a_time(as_rows(predict(path, model, minimum_note_length=58)[2]))

    return {"basic-pitch": silenced(usual), "basic-pitch, single": silenced(short_and_single)}


def silenced(listen: Method) -> Method:
    """Without the words that the library prints for every file."""

    def quiet(path: Path) -> np.ndarray:
        kept, sys.stdout = sys.stdout, open(os.devnull, "w")  # noqa: SIM115, PTH123
        try:
            return listen(path)
        finally:
            sys.stdout.close()
            sys.stdout = kept

    return quiet


def as_rows(events) -> np.ndarray:
    rows = [(start, end, 440.0 * 2 ** ((midi - 69) / 12), loud) for start, end, midi, loud, _ in sorted(events)]
    return np.array(rows).reshape(-1, 4)


def one_at_a_time(rows: np.ndarray) -> np.ndarray:
    """Of notes that begin within 50 ms the loudest; each ends where the next begins."""
    kept: list[np.ndarray] = []
    for row in rows:
        if kept and row[0] - kept[-1][0] < 0.05:
            if row[3] > kept[-1][3]:
                kept[-1] = row
        else:
            kept.append(row.copy())
    for before, after in pairwise(kept):
        before[1] = min(before[1], after[0])
    return np.array(kept).reshape(-1, 4)


def scores(truths: dict, found: dict[str, np.ndarray]) -> dict[str, tuple[float, float]]:
    """(F, F with offsets) of each condition, over all its takes."""
    counts: dict[str, np.ndarray] = defaultdict(lambda: np.zeros(4))
    for name, truth in truths.items():
        true = np.array([(note["onset"], note["offset"], note["hz"]) for note in truth["notes"]])
        counts[truth["cond"]] += counted(true, np.array(truth["f0_range"]), found[name][:, :3])
    return {cond: (2 * c[0] / (c[2] + c[3]), 2 * c[1] / (c[2] + c[3])) for cond, c in counts.items()}


def counted(true: np.ndarray, ranges_hz: np.ndarray, heard: np.ndarray) -> np.ndarray:
    """Right, right with offsets, true and heard notes."""
    heard = heard[heard[:, 1] - heard[:, 0] > 0.005]
    if not len(heard):
        return np.array([0, 0, len(true), 0])
    pairs = mir_eval.transcription.match_note_onsets(true[:, :2], heard[:, :2], onset_tolerance=0.05)
    right = sum(
        1200 * np.log2(heard[b, 2] / ranges_hz[a, 1]) <= 50 and 1200 * np.log2(ranges_hz[a, 0] / heard[b, 2]) <= 50
        for a, b in pairs
    )
    full = mir_eval.transcription.match_notes(true[:, :2], true[:, 2], heard[:, :2], heard[:, 2], offset_ratio=0.2)
    return np.array([right, len(full), len(true), len(heard)])


def report(table: dict[str, tuple[dict[str, tuple[float, float]], float]]) -> None:
    conditions = list(next(iter(table.values()))[0])
    print("| condition | " + " | ".join(table) + " |")
    print("| --- |" + " --- |" * len(table))
    for cond in conditions:
        print(f"| {cond} | " + " | ".join(f"{f[cond][0]:.3f} ({f[cond][1]:.2f})" for f, _ in table.values()) + " |")
    means = (np.mean(list(f.values()), axis=0) for f, _ in table.values())
    print("| **mean** | " + " | ".join(f"{a:.4f} ({b:.3f})" for a, b in means) + " |")
    print("| x real time | " + " | ".join(f"{speed:.0f}" for _, speed in table.values()) + " |")
    own = table["phrasewright"][0]
    behind = [
        cond
        for cond in conditions
        if any(f[cond][0] >= own[cond][0] for n, (f, _) in table.items() if n != "phrasewright")
    ]
    print("ahead in every condition" if not behind else f"not ahead in: {', '.join(behind)}")


def memory(path: Path) -> None:
    audio, rate_hz = soundfile.read(path, dtype="float32")
    with tempfile.TemporaryDirectory() as folder:
        long = Path(folder) / "long.flac"
        soundfile.write(long, np.tile(audio, int(np.ceil(LONG_S * rate_hz / len(audio))))[: LONG_S * rate_hz], rate_hz)
        begun = time.perf_counter()
        run = [sys.executable, "-c", LISTEN_ALONE, str(long), folder]
        peak = subprocess.run(run, capture_output=True, text=True, check=True).stdout.strip()
        took_s = time.perf_counter() - begun
        print(f"a take of {LONG_S // 60} minutes: peak memory {peak} MB, {took_s:.1f} s with start-up")


if __name__ == "__main__":
    main()
