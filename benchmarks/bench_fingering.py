"""How long it takes to finger a line.

    python benchmarks/bench_fingering.py            prints a table

Lines are made up with a fixed seed: a walk through a scale (what music is like) and notes anywhere on the neck at any
time (the worst that can come). CPU seconds of one core, best of three; the target is 5 s for 10,000 notes.
"""

from __future__ import annotations

import random
import time

from phrasewright.neck.catalogue import instrument
from phrasewright.neck.fingering.finger import finger_line
from phrasewright.neck.fingering.line import FingeringWish, LineNote

NOTES = 10_000
SCALE = (0, 3, 5, 7, 10)
WAITS_S = (0.1, 0.15, 0.25, 0.5, 1.0)


def walk(rng: random.Random) -> list[LineNote]:
    """Steps of one or two degrees up and down the neck."""
    pitches = [40 + 12 * octave + degree for octave in range(4) for degree in SCALE]
    place, onset_s, line = 10, 0.0, []
    for _ in range(NOTES):
        place = min(max(place + rng.choice((-2, -1, -1, 0, 1, 1, 2)), 0), len(pitches) - 1)
        wait_s = rng.choice(WAITS_S)
        line.append(LineNote(onset_s=onset_s, duration_s=wait_s, pitch_midi=pitches[place]))
        onset_s += wait_s
    return line


def anywhere(rng: random.Random) -> list[LineNote]:
    """Every note of the neck alike, one in ten together with the one before."""
    onset_s, line = 0.0, []
    for _ in range(NOTES):
        onset_s += 0.0 if rng.random() < 0.1 else rng.choice(WAITS_S)
        line.append(LineNote(onset_s=onset_s, duration_s=rng.choice(WAITS_S), pitch_midi=rng.randint(40, 86)))
    return line


def cpu_s(line: list[LineNote], wish: FingeringWish) -> float:
    """Seconds to finger a line on a guitar, best of three."""
    spent = []
    for _ in range(3):
        started = time.process_time()
        finger_line(line, instrument("guitar"), wish)
        spent.append(time.process_time() - started)
    return min(spent)


def main() -> None:
    for name, line in (("a walk", walk(random.Random(1))), ("anywhere", anywhere(random.Random(1)))):
        for words, wish in (("as players do", FingeringWish()), ("for a beginner", FingeringWish(beginner=True))):
            print(f"{NOTES} notes, {name}, {words}: {cpu_s(line, wish):.2f} s")


if __name__ == "__main__":
    main()
