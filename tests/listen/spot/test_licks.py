"""Licks that experts marked in solos of the Weimar Jazz Database are found again in other solos and other keys.

Protocol. Every stretch marked ``lick`` of two to five notes is a pattern: its semitones and its times from note to
note. It is planted once, moved by one to eleven semitones up or down, into 100 notes of a solo drawn from the 456
(never its own): between two notes, with a silence of 0.6 s on either side or, every second time, flush at the pace of
the host. All onsets then slip with a standard deviation of 20 ms. A hit is a place found at the planted first note.
**Every** other place is counted as false, even where the host happens to hold the same steps in the same rhythm; no
place may be told where the notes do not have the very intervals of the lick.
"""

from __future__ import annotations

import csv
import io
import lzma
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from pathlib import Path
from random import Random

import pytest
from played import placed

from phrasewright.listen.placed import PlacedNote
from phrasewright.listen.spot.pattern import Pattern, find_pattern

HOST_NOTES = 100
EVERY = 2  # of the licks is planted, to be quick
SLIP_S = 0.02

Row = tuple[float, float, int]  # onset_s, duration_s, pitch


@dataclass(frozen=True, kw_only=True)
class Solo:
    notes: list[Row]
    licks: list[list[Row]]


def solos_of(data_dir: Path) -> list[Solo]:
    """All solos with their marked licks of two to five notes, without marks that another mark cuts short."""
    with lzma.open(data_dir / "wjazzd" / "notes.csv.xz", "rt", encoding="utf-8") as file:
        rows = list(csv.DictReader(io.StringIO(file.read())))
    return [_solo(list(group)) for _, group in groupby(rows, key=lambda row: row["melid"])]


def _solo(rows: Sequence[dict[str, str]]) -> Solo:
    notes = [(float(row["onset_s"]), float(row["duration_s"] or 0.2), int(row["pitch"])) for row in rows]
    licks = []
    for index, row in enumerate(rows):
        if row["mlu_type"] != "lick" or not 2 <= (size := int(row["mlu_length"])) <= 5:
            continue
        if [other["mlu_pos"] for other in rows[index : index + size]] == [str(pos + 1) for pos in range(size)]:
            licks.append(notes[index : index + size])
    return Solo(notes=notes, licks=licks)


def planted(lick: Sequence[Row], host: Sequence[Row], rng: Random, *, flush: bool) -> tuple[list[PlacedNote], int]:
    """The host with the lick in it, and the index of its first note."""
    at = rng.randrange(10, len(host) - 10)
    up = rng.choice([move for move in range(-11, 12) if move])
    around_s = host[at][0] - host[at - 1][0] if flush else 0.6 + host[at - 1][1]
    start_s = host[at - 1][0] + around_s
    lasts_s = lick[-1][0] - lick[0][0]
    after_s = around_s if flush else lick[-1][1] + 0.6
    moved = [(start_s + onset - lick[0][0], duration, pitch + up) for onset, duration, pitch in lick]
    later_s = start_s + lasts_s + after_s - host[at][0]
    rest = [(onset + later_s, duration, pitch) for onset, duration, pitch in host[at:]]
    line = [*host[:at], *moved, *rest]
    notes = [
        placed(pitch, max(0.0, onset - line[0][0] + 1.0 + rng.gauss(0.0, SLIP_S)), max(duration, 0.02))
        for onset, duration, pitch in line
    ]
    order = sorted(range(len(notes)), key=lambda index: notes[index].note.onset_s)
    return [notes[index] for index in order], order.index(at)


def pattern_of(lick: Sequence[Row]) -> Pattern:
    """Its steps and its rhythm."""
    return Pattern(
        intervals=tuple(after[2] - before[2] for before, after in pairwise(lick)),
        steps_s=tuple(after[0] - before[0] for before, after in pairwise(lick)),
    )


@pytest.fixture(scope="module")
def solos(data_dir: Path) -> list[Solo]:
    return solos_of(data_dir)


def test_marked_licks_are_found_in_other_keys(solos: list[Solo]) -> None:
    """Recall 0.95 at least, one false place in a hundred notes at most."""
    rng = Random(74_211)
    licks = [(number, lick) for number, solo in enumerate(solos) for lick in solo.licks][::EVERY]
    assert len(licks) > 500
    found = false = notes = 0
    for turn, (number, lick) in enumerate(licks):
        other = solos[rng.choice([index for index in range(len(solos)) if index != number])].notes
        start = rng.randrange(max(1, len(other) - HOST_NOTES))
        take, first = planted(lick, other[start : start + HOST_NOTES], rng, flush=turn % 2 == 1)
        pattern = pattern_of(lick)
        places = find_pattern(pattern, take)
        found += first in places
        false += sum(place != first for place in places)
        notes += len(take)
        for place in places:
            heard = [round(one.note.pitch_midi) for one in take[place : place + len(lick)]]
            assert tuple(after - before for before, after in pairwise(heard)) == pattern.intervals
    assert found / len(licks) >= 0.95, f"{found} of {len(licks)} licks"
    assert 100 * false / notes <= 1.0, f"{false} false places in {notes} notes"


def test_without_a_rhythm_only_the_steps_count(solos: list[Solo]) -> None:
    """A lick at its own place is found by its steps alone, wherever no long silence lies inside it."""
    solo = next(solo for solo in solos if solo.licks)
    notes = [placed(pitch, onset, max(duration, 0.02)) for onset, duration, pitch in solo.notes]
    for lick in solo.licks:
        steps = pattern_of(lick)
        if max(steps.steps_s) < 0.5:
            first = solo.notes.index(lick[0])
            assert first in find_pattern(Pattern(intervals=steps.intervals), notes)
