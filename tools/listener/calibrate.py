"""Fit the confidence of notes on freshly made takes: the numbers of ``listen/hear/verdict.py``.

usage: python -m tools.listener.calibrate FOLDER [--takes 260] [--seed 123]

A note counts as played when the take's own answers have one within 50 ms and a semitone. Prints the weights, and how
often notes were right in bands of confidence.
"""

from __future__ import annotations

import argparse
from itertools import pairwise
from pathlib import Path

import numpy as np
from scipy.optimize import minimize
from tools.listener.workshop import open_workshop

from phrasewright.listen.hear.decode import decode
from phrasewright.listen.hear.ear import Answers, answers

BANDS = (0.0, 0.5, 0.7, 0.85, 0.95, 0.98, 1.01)


def main() -> None:
    """Make takes, hear them, fit, report."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--takes", type=int, default=260)
    parser.add_argument("--seed", type=int, default=123)
    wish = parser.parse_args()
    workshop = open_workshop(wish.folder, modelled=10, seed=77, workers=1)
    rng = np.random.default_rng(wish.seed)
    rows = np.array([row for _ in range(wish.takes) for row in _judged(*workshop.take(rng)[:3])])
    inputs, right = np.column_stack([np.ones(len(rows)), rows[:, :2]]), rows[:, 2]
    weights = minimize(lambda w: _loss(w, inputs, right), np.zeros(3)).x
    print("weights:", np.round(weights, 2), "notes:", len(rows))
    odds = 1 / (1 + np.exp(-inputs @ weights))
    for low, high in pairwise(BANDS):
        inside = (odds >= low) & (odds < high)
        if inside.any():
            print(f"{low:.2f}: {inside.sum()} notes, said {odds[inside].mean():.3f}, right {right[inside].mean():.3f}")


def _judged(audio, planes, dead):
    """(onset, sounding, right) of every note heard."""
    onset, sounds, end, soft = planes.astype(np.float32) / 255
    truth = decode(Answers(onset=onset, sounds=sounds, end=end, soft=soft, dead=dead / 255))
    used: set[int] = set()
    for note in decode(answers(audio)):
        near = (
            number
            for number, true in enumerate(truth)
            if number not in used and abs(true.onset_s - note.onset_s) <= 0.05 and abs(true.row - note.row) <= 1
        )
        match = next(near, None)
        if match is not None:
            used.add(match)
        yield note.begins, note.sounds, match is not None


def _loss(weights, inputs, right) -> float:
    return float(np.mean(np.logaddexp(0, -(2 * right - 1) * (inputs @ weights))) + 1e-4 * (weights[1:] ** 2).sum())


if __name__ == "__main__":
    main()
