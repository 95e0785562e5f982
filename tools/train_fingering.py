"""Learn how players finger lines, and write the weights that ``phrasewright finger`` uses.

usage: python tools/train_fingering.py [--data DIR] [--write]

Reads the annotated solos of data/guitarset (string and pitch of every note; docs/sources.md 4). Hand and finger are
not annotated: the model is a conditional random field over (string, fret, hand, finger) whose likelihood sums over
them, fitted by L-BFGS with a quadratic penalty, three times with three penalties whose weights are averaged
(docs/fingering.md). First every player is left out in turn and the
agreement with the strings they chose is printed; then, with --write, the weights are fitted on all solos and written
to src/phrasewright/neck/fingering/weights.py. Deterministic; one core, about seven minutes.
"""

from __future__ import annotations

import argparse
import csv
import os
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from phrasewright.neck.catalogue import instrument
from phrasewright.neck.fingering.finger import finger_line
from phrasewright.neck.fingering.grips import GripFinder, Grips
from phrasewright.neck.fingering.line import FingeringWish, LineNote
from phrasewright.neck.fingering.moments import moments
from phrasewright.neck.fingering.tables import SHAPES, SIZE, cell, tables
from phrasewright.neck.fingering.traits import Traits, clashes, time_classes

ROOT = Path(__file__).resolve().parents[1]
WEIGHTS_FILE = ROOT / "src" / "phrasewright" / "neck" / "fingering" / "weights.py"
GUITAR = instrument("guitar")
CLASH = -20.0  # while training: players do hold what the model of the hand forbids, rarely
START_SHIFT = -0.3  # first guess: each fret of shift costs this much; the rest begins at 0
DECIMALS = 2
PENALTIES = (100.0, 300.0, 900.0)  # of the squared weights, in notes
ROUNDS = 40  # of L-BFGS; stopping early is part of the smoothing

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """One annotated solo. strings: as played, 1 = highest, in the order of the notes."""

    name: str
    notes: tuple[LineNote, ...]
    strings: tuple[int, ...]

    @property
    def player(self) -> str:
        """Two digits."""
        return self.name[:2]


def read_takes(data: Path) -> list[Take]:
    """The solos of data/guitarset/notes, by name."""
    takes = []
    for path in sorted((data / "guitarset" / "notes").glob("*.csv")):
        with path.open(newline="") as file:
            rows = list(csv.DictReader(file))
        notes = tuple(
            LineNote(
                onset_s=float(row["onset_s"]),
                duration_s=float(row["duration_s"]),
                pitch_midi=round(float(row["midi_pitch_float"])),
            )
            for row in rows
        )
        takes.append(Take(name=path.stem, notes=notes, strings=tuple(6 - int(row["string"]) for row in rows)))
    return takes


@dataclass(frozen=True, slots=True, kw_only=True)
class _Chain:
    """A take as the learner sees it. cells: (traits, grips of all notes); starts: where each note's grips begin;
    played: 1 for grips on the player's string; moves: number of the kind of each move."""

    player: str
    cells: Ints
    starts: Ints
    played: Floats
    moves: tuple[int, ...]


class Learner:
    """Takes as cells of the weight tables, and the penalised negative log-likelihood with its gradient."""

    def __init__(self, takes: Sequence[Take]) -> None:
        self._traits, self._finder = Traits(GUITAR), GripFinder(GUITAR, FingeringWish())
        self._known: dict[tuple[int, bool], Grips] = {}
        self._kinds: dict[tuple[int, ...], int] = {}
        self._move_cells: list[Ints] = []
        self._clashes: list[Floats] = []
        self.chains = [self._chain(take) for take in takes]
        shapes = [cells.shape[1:] for cells in self._move_cells]
        self._cells = np.concatenate([_padded(cells.reshape(len(cells), -1)) for cells in self._move_cells], axis=1)
        self._penalty_free = np.concatenate([matrix.ravel() for matrix in self._clashes])
        ends = np.cumsum([rows * columns for rows, columns in shapes])
        self._spans = [
            (end - rows * columns, end, (rows, columns)) for end, (rows, columns) in zip(ends, shapes, strict=True)
        ]

    def fit(self, chains: Sequence[_Chain]) -> Floats:
        """The weights that make the players' strings likely, averaged over the penalties, rounded as shipped."""
        return np.round(np.mean([self._fit(chains, penalty) for penalty in PENALTIES], axis=0), DECIMALS)

    def _fit(self, chains: Sequence[_Chain], penalty: float) -> Floats:
        start = np.zeros(SIZE)
        shifts = SHAPES["shift"][0]
        start[cell("shift", np.arange(shifts))] = START_SHIFT * np.abs(np.arange(shifts) - shifts // 2)
        found = minimize(
            self._loss, start, args=(chains, penalty), jac=True, method="L-BFGS-B", options={"maxiter": ROUNDS}
        )
        return np.asarray(found.x)

    def _chain(self, take: Take) -> _Chain:
        line = moments(take.notes)
        wait, rest = (classes.tolist() for classes in time_classes(line))
        kinds = list(zip(line.pitch_midi.tolist(), line.in_chord.tolist(), strict=True))
        grips = [self._grips(*kind) for kind in kinds]
        cells = [
            np.concatenate([self._traits.of_grips(one), self._traits.in_line(one, line, index)])
            for index, one in enumerate(grips)
        ]
        moves = [
            self._move((*before, *after, wait[index], rest[index]))
            for index, (before, after) in enumerate(pairwise(kinds), 1)
        ]
        strings = [take.strings[index] for index in line.order.tolist()]
        played = [one.string == string for one, string in zip(grips, strings, strict=True)]
        return _Chain(
            player=take.player,
            cells=np.concatenate(cells, axis=1),
            starts=np.cumsum([0, *(len(one.string) for one in grips)]),
            played=np.concatenate(played).astype(float),
            moves=tuple(moves),
        )

    def _grips(self, pitch_midi: int, in_chord: bool) -> Grips:
        key = pitch_midi, in_chord
        if key not in self._known:
            found = self._finder.grips(pitch_midi, in_chord=in_chord)
            if found is None:
                raise ValueError(f"pitch {pitch_midi} is not on the neck")
            self._known[key] = found
        return self._known[key]

    def _move(self, kind: tuple[int, bool, int, bool, int, int]) -> int:
        if kind not in self._kinds:
            pitch, chord, next_pitch, next_chord, wait, rest = kind
            before, after = self._grips(pitch, chord), self._grips(next_pitch, next_chord)
            interval = next_pitch - pitch
            lasting = self._traits.of_moves(before, after, interval)
            timed = self._traits.in_time(before, after, interval, wait, rest)
            self._kinds[kind] = len(self._kinds)
            self._move_cells.append(np.concatenate([lasting, timed]))
            self._clashes.append(CLASH * clashes(before, after) * (wait == 0))
        return self._kinds[kind]

    def _loss(self, weights: Floats, chains: Sequence[_Chain], penalty: float) -> tuple[float, Floats]:
        """Sum over takes of log Z(all fingerings) - log Z(those on the player's strings), and its gradient."""
        padded = np.append(weights, 0.0)
        scores = padded[self._cells].sum(axis=0) + self._penalty_free
        factors = [np.exp(scores[a:b] - scores[a:b].max()).reshape(shape) for a, b, shape in self._spans]
        flows = [np.zeros(shape) for _, _, shape in self._spans]
        gradient, loss = np.zeros(SIZE + 1), 0.0
        for chain in chains:
            excess, surplus = _both_passes(chain, weights, factors, flows)
            loss += surplus
            gradient += np.bincount(chain.cells.ravel(), np.tile(excess, len(chain.cells)), minlength=SIZE + 1)
        flow = np.concatenate([(flow * factor).ravel() for flow, factor in zip(flows, factors, strict=True)])
        gradient += np.bincount(self._cells.ravel(), np.tile(flow, len(self._cells)), minlength=SIZE + 1)
        return loss + 0.5 * penalty * float(weights @ weights), gradient[:SIZE] + penalty * weights


def _padded(cells: Ints) -> Ints:
    """Every kind of move with the same number of traits; the spare cell ``SIZE`` weighs nothing."""
    most = 15
    return np.pad(cells, ((0, most - len(cells)), (0, 0)), constant_values=SIZE)


def _both_passes(
    chain: _Chain, weights: Floats, factors: Sequence[Floats], flows: Sequence[Floats]
) -> tuple[Floats, float]:
    """Forward and backward over all fingerings (row 0) and those on the player's strings (row 1), side by side.

    Adds each move's share to ``flows`` (still to be multiplied by its factor). Returns, for every grip, how much more
    likely it is among all than among the player's, and the difference of the two log sums.
    """
    scores = weights[chain.cells].sum(axis=0)
    states = []
    for start, end in pairwise(chain.starts.tolist()):
        likely = np.exp(scores[start:end] - scores[start:end].max())
        states.append(np.stack([likely, likely * chain.played[start:end]]))
    sums = np.ones((len(states), 2, 1))
    forward = [states[0]]
    for index, state in enumerate(states):
        if index:
            forward.append((forward[-1] @ factors[chain.moves[index - 1]]) * state)
        sums[index] = forward[-1].sum(axis=1, keepdims=True)
        forward[-1] = forward[-1] / sums[index]
    signs = np.array([[1.0], [-1.0]])
    excess = [np.zeros(0)] * len(states)
    backward = np.ones_like(states[-1])
    for index in range(len(states) - 1, -1, -1):
        excess[index] = (signs * forward[index] * backward).sum(axis=0)
        if index:
            arriving = states[index] * backward / sums[index]
            flows[chain.moves[index - 1]][...] += (forward[index - 1] * signs).T @ arriving
            backward = arriving @ factors[chain.moves[index - 1]].T
    logs = np.log(sums[:, :, 0]).sum(axis=0)
    return np.concatenate(excess), float(logs[0] - logs[1])


def agreement(takes: Sequence[Take], weights: Floats) -> tuple[float, float]:
    """(share of notes on the player's string, hand travel as a share of the players')."""
    same = total = ours = theirs = 0
    for take in takes:
        fingered = finger_line(take.notes, GUITAR, weights=weights)
        places = [note.place for note in fingered.notes]
        same += sum(place.string == string for place, string in zip(places, take.strings, strict=True))
        total += len(places)
        ours += travel([place.fret for place in places])
        opens = [GUITAR.tuning[string - 1].midi for string in take.strings]
        theirs += travel([note.pitch_midi - open_midi for note, open_midi in zip(take.notes, opens, strict=True)])
    return same / total, ours / theirs


def travel(frets: Sequence[int]) -> int:
    """Frets moved from each pressed note to the next."""
    return sum(abs(after - before) for before, after in pairwise([fret for fret in frets if fret]))


def leave_one_player_out(takes: Sequence[Take], learner: Learner) -> list[float]:
    """Agreement with each player by weights fitted on the others; prints a row for each."""
    found, counts = [], []
    for player in sorted({take.player for take in takes}):
        weights = learner.fit([chain for chain in learner.chains if chain.player != player])
        theirs = [take for take in takes if take.player == player]
        share, way = agreement(theirs, weights)
        notes = sum(len(take.notes) for take in theirs)
        print(
            f"player {player}: {len(theirs)} solos, {notes} notes, agreement {share:.3f}, hand travel {way:.3f}",
            flush=True,
        )
        found.append(share)
        counts.append(len(theirs))
    print(f"mean of {len(found)} players {np.mean(found):.3f}")
    many = [share for share, count in zip(found, counts, strict=True) if count > 1]
    print(f"mean of the {len(many)} players with more than one solo {np.mean(many):.3f}")
    return found


def write_weights(weights: Floats, words: str) -> None:
    """The weights module: a table of hundredths for each trait."""
    rows = []
    for name, table in tables(weights.tolist()).items():
        values = np.rint(table * 10**DECIMALS).astype(int).ravel().tolist()
        lines, line = [], "       "
        for value in values:
            if len(line) + len(str(value)) + 2 > 118:
                lines.append(line)
                line = "       "
            line += f" {value},"
        rows.append("\n".join([f'    "{name}": (', *lines, line, "    ),"]))
    WEIGHTS_FILE.write_text(_MODULE.format(words=words, rows="\n".join(rows)), encoding="utf-8")


_MODULE = '''"""How usual grips and moves are among players: a table of hundredths for each trait of ``tables.SHAPES``.

Fitted by tools/train_fingering.py on the annotated solos of GuitarSet (Xi, Bittner, Pauwels, Ye, Bello, ISMIR 2018;
Creative Commons Attribution 4.0), {words}
Method and figures: docs/fingering.md. Written by the script; do not edit by hand.
"""

from __future__ import annotations

import numpy as np

_HUNDREDTHS = {{  # each table row by row
{rows}
}}  # fmt: skip
WEIGHTS = np.concatenate([np.array(table) for table in _HUNDREDTHS.values()]) / 100
'''


def main() -> None:
    """Leave each player out, then fit and write when asked."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    default = os.environ.get("PHRASEWRIGHT_DATA", str(ROOT.parent / "shared" / "data"))
    arguments.add_argument("--data", type=Path, default=Path(default), help="folder that holds guitarset/")
    arguments.add_argument("--write", action="store_true", help="fit on all solos and write the weights")
    options = arguments.parse_args()
    takes = read_takes(options.data)
    learner = Learner(takes)
    leave_one_player_out(takes, learner)
    if options.write:
        weights = learner.fit(learner.chains)
        notes = sum(len(take.notes) for take in takes)
        write_weights(weights, f"{len(takes)} solos, {notes} notes.")
        share, way = agreement(takes, weights)
        print(f"all {len(takes)} solos with the weights written: agreement {share:.4f}, hand travel {way:.3f}")


if __name__ == "__main__":
    main()
