"""Kill a studio without warning, again and again, while it works, and see that nothing acknowledged is lost.

usage: python benchmarks/kill_nine.py [--rounds 200] [--seed 1]

A third of the rounds kill it (SIGKILL) while three students send takes, at a moment drawn by chance; a third while a
pack is built, some of these at any moment, the others as its files are being moved in; a third while the teacher
changes and renames a lesson. After each new start: every take acknowledged is there, byte for byte, once; no half
upload is left; the pack is one of its manifest, old or new, file by file; every change acknowledged is in the lesson
and its file, and no lesson is there twice; no working process goes on. The checks are those of
tests/web/kill_rounds.py.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "web"))

from kill_rounds import ACTIVITIES, kill_rounds


def main() -> None:
    parser = argparse.ArgumentParser(description="Kill a studio again and again.")
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    wish = parser.parse_args()
    names = [kind().name for kind in ACTIVITIES]
    started = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        seen = kill_rounds(Path(folder), [names[at % len(names)] for at in range(wish.rounds)], seed=wish.seed)
    for name, counts in seen.items():
        print(f"| {name} | " + ", ".join(f"{what}: {number}" for what, number in counts.items()) + " |")
    print(f"nothing was lost, nothing was mixed, in {time.perf_counter() - started:.0f} s")


if __name__ == "__main__":
    main()
