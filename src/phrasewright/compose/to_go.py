"""What is still to come, exactly: messages from the end of a lattice to its beginning.

For every slot and every situation before it (how long a kind has run, the states of the tallies, the class in which
the choice before left) two numbers are known: the least bits the rest can cost, and the *crowd*, the sum over all
ways to go on of ``2 ** (-keenness * (bits - least bits))``. From the first the best studies are found one after
another (``best``); from the second studies are drawn with exactly the right chances (``draw``). Crowds are at least
1 however keen the choice, so nothing underflows. Basis: belief propagation over a chain times an automaton (Pachet,
Roy and Barbieri, IJCAI 2011; Papadopoulos et al. 2015). Choices that look alike to everything but their own bits are
taken together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.compose.lattice import DEAD, Boundary, Lattice, Tally

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from phrasewright.compose.lattice import Flags, Floats, Ints

AT_ONCE = 4_000_000  # numbers in one step's working space


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stage:
    """One slot's messages.

    says: what each choice says to all tallies together, (choices,); successors: (joint states, sayings) -> joint state
    after it, ``DEAD`` where broken; least, crowd: (runs, joint
    states before the slot, leaving classes before it); at the first slot one of each.
    """

    says: Ints
    successors: Ints
    least: Floats
    crowd: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToGo:
    """All messages of a lattice at one keenness, in bits per bit: 0 = every way alike."""

    lattice: Lattice
    keenness: float
    stages: tuple[Stage, ...]
    accepts: Flags

    @property
    def possible(self) -> bool:
        """True when some path keeps every rule."""
        return bool(np.isfinite(self.stages[0].least[0, 0, 0]))

    def follow(self, slot: int, run: Ints, state: Ints, leaving: Ints) -> tuple[Floats, Floats, Ints, Ints]:
        """All choices of a slot from several situations at once, each (situations,).

        Returns, each (situations, choices): bits of the choice and its boundary plus the least that is to go after
        it, the crowd after it, the run and the tally state it leads to. Runs count from 0.
        """
        lattice, stage = self.lattice, self.stages[slot]
        own = np.broadcast_to(lattice.own[slot], (len(run), len(lattice.own[slot])))
        after_state = stage.successors[state][:, stage.says]
        after_run = np.zeros_like(after_state)
        bits = own.copy()
        if slot:
            boundary = lattice.boundaries[slot - 1]
            pair = leaving[:, None], boundary.entering[None, :]
            bits += boundary.bits[pair]
            after_run = np.where(boundary.same[pair], run[:, None] + 1, 0)
        bits[(after_state == DEAD) | (after_run >= lattice.longest_run)] = np.inf
        safe_run, safe_state = np.minimum(after_run, lattice.longest_run - 1), np.maximum(after_state, 0)
        if slot + 1 < len(self.stages):
            ahead = self.stages[slot + 1]
            where = safe_run, safe_state, np.broadcast_to(lattice.boundaries[slot].leaving, safe_state.shape)
            bits += ahead.least[where]
            crowd = ahead.crowd[where]
        else:
            bits[~self.accepts[safe_state]] = np.inf
            crowd = np.ones_like(bits)
        return bits, crowd, safe_run, safe_state


def look_ahead(lattice: Lattice, *, keenness: float = 1.0) -> ToGo:
    """The messages of a lattice. keenness >= 0."""
    joint, accepts = _reachable(lattice)
    arrivals: dict[int, tuple[_Arrivals, _Arrivals]] = {}
    runs, last = lattice.longest_run, len(lattice.own) - 1
    stages: list[Stage] = []
    for slot in range(last, -1, -1):
        here = joint[slot]
        if slot == last:
            after = np.where(accepts, 0.0, np.inf)[None, :, None] * np.ones((runs, 1, 1))
            ahead = Stage(says=here.says, successors=here.moves, least=after, crowd=np.ones_like(after))
            leaving = np.zeros(len(here.says), dtype=np.int64)
        else:
            ahead, leaving = stages[-1], lattice.boundaries[slot].leaving
        boundary = lattice.boundaries[slot - 1] if slot else _opening(len(here.says))
        if id(boundary) not in arrivals:  # boundaries repeat
            arrivals[id(boundary)] = _arrivals(boundary)
        kinds = _Kinds(lattice.own[slot], here, leaving, boundary.entering, keenness)
        stages.append(_stage(here, kinds, arrivals[id(boundary)], ahead, keenness))
    return ToGo(lattice=lattice, keenness=keenness, stages=tuple(reversed(stages)), accepts=accepts)


def _arrivals(boundary: Boundary) -> tuple[_Arrivals, _Arrivals]:
    """Ways into a slot that change the kind, and ways that stay with it."""
    changing = np.where(boundary.same, np.inf, boundary.bits)
    return _Arrivals(changing), _Arrivals(np.where(boundary.same, boundary.bits, np.inf))


def _opening(choices: int) -> Boundary:
    """The way into the first slot: free."""
    nothing = np.zeros((1, 1))
    entering = np.zeros(choices, dtype=np.int64)
    return Boundary(leaving=entering[:1], entering=entering, bits=nothing, same=np.zeros((1, 1), dtype=np.bool_))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Joint:
    """All tallies as one at a slot. says: (choices,); moves: (joint states, sayings) -> joint state, or ``DEAD``."""

    says: Ints
    moves: Ints


def _reachable(lattice: Lattice) -> tuple[list[_Joint], Flags]:
    """The tallies together over the joint states that can be reached, slot by slot, and which end well."""
    tallies = lattice.tallies
    parts = [np.zeros(1, dtype=np.int64) for _ in tallies]  # each tally's state in every joint state
    states = 1
    joint: list[_Joint] = []
    for slot, own in enumerate(lattice.own):
        if not tallies:
            joint.append(_Joint(says=np.zeros(len(own), dtype=np.int64), moves=np.zeros((1, 1), dtype=np.int64)))
            continue
        said = np.stack([tally.says[slot] for tally in tallies], axis=1)
        sayings, says = np.unique(said, axis=0, return_inverse=True)
        moves = [
            tally.moves[slot][part][:, sayings[:, number]]
            for number, (tally, part) in enumerate(zip(tallies, parts, strict=True))
        ]
        offered = np.zeros(len(sayings), dtype=np.bool_)
        offered[says.reshape(-1)[np.isfinite(own)]] = True
        sizes = [_after(tally, slot) for tally in tallies]
        number = np.zeros_like(moves[0])
        for move, size in zip(moves, sizes, strict=True):
            number = number * size + move
        alive = np.logical_and.reduce([move != DEAD for move in moves]) & offered
        seen = np.zeros(int(np.prod(sizes)), dtype=np.bool_)
        seen[number[alive]] = True
        found = np.flatnonzero(seen)
        place = np.full(len(seen), DEAD, dtype=np.int64)
        place[found] = np.arange(len(found))
        joint.append(_Joint(says=says.reshape(-1), moves=np.where(alive, place[np.where(alive, number, 0)], DEAD)))
        states = len(found)
        parts = _split(found, sizes) if states else [np.zeros(1, dtype=np.int64) for _ in tallies]
    ends = [tally.accepts[part] for tally, part in zip(tallies, parts, strict=True)]
    accepts = np.logical_and.reduce(ends) if ends else np.ones(1, dtype=np.bool_)
    return joint, accepts & np.bool_(states > 0)


def _after(tally: Tally, slot: int) -> int:
    """States of one tally after a slot."""
    return tally.moves[slot + 1].shape[0] if slot + 1 < len(tally.moves) else len(tally.accepts)


def _split(numbers: Ints, sizes: list[int]) -> list[Ints]:
    parts: list[Ints] = []
    for size in reversed(sizes):
        numbers, part = np.divmod(numbers, size)
        parts.append(part)
    return parts[::-1]


def _stage(here: _Joint, kinds: _Kinds, arrivals: tuple[_Arrivals, _Arrivals], ahead: Stage, keenness: float) -> Stage:
    """Messages before a slot from those after it."""
    least, crowd = kinds.by_entry(ahead, keenness)
    runs = least.shape[0]
    changing, staying = arrivals
    before_least, before_crowd = [], []
    other = changing.join(least[0], crowd[0], keenness)
    for run in range(runs):
        both = [other]
        if run + 1 < runs:
            both.append(staying.join(least[run + 1], crowd[run + 1], keenness))
        lows = np.stack([low for low, _ in both])
        crowds = np.stack([many for _, many in both])
        joined = _merge(lows, crowds, keenness, axis=0)
        before_least.append(joined[0])
        before_crowd.append(joined[1])
    crowd = np.stack(before_crowd)
    return Stage(
        says=here.says,
        successors=here.moves,
        least=np.stack(before_least),
        crowd=crowd / max(float(crowd.max()), 1e-300),
    )


class _Kinds:
    """Choices of a slot that enter and leave alike and say the same to every tally, taken together."""

    def __init__(self, own: Floats, joint: _Joint, leaving: Ints, entering: Ints, keenness: float) -> None:
        keys = np.stack([entering, leaving, joint.says], axis=1)
        _, first, kind = np.unique(keys, axis=0, return_index=True, return_inverse=True)
        kind = kind.reshape(-1)
        self.successors, self.leaving = joint.moves[:, joint.says[first]], leaving[first]
        self.own = np.full(len(first), np.inf)
        np.minimum.at(self.own, kind, own)
        self.many = np.zeros(len(first))
        np.add.at(self.many, kind, chance_of(own - _finite(self.own[kind]), keenness))
        entry = entering[first]  # sorted: it is the first key
        self.starts = np.flatnonzero(np.diff(entry, prepend=-1))
        self.entries = entry[self.starts]
        self.all_entries = int(entering.max()) + 1

    def by_entry(self, ahead: Stage, keenness: float) -> tuple[Floats, Floats]:
        """Least bits and crowd, each (runs, states, entering classes), of going on through this slot."""
        dead = self.successors == DEAD
        where = np.maximum(self.successors, 0), np.broadcast_to(self.leaving, self.successors.shape)
        least = ahead.least[:, where[0], where[1]] + self.own
        least[:, dead] = np.inf
        crowd = ahead.crowd[:, where[0], where[1]] * self.many
        low = np.minimum.reduceat(least, self.starts, axis=2)
        sizes = np.diff(np.append(self.starts, least.shape[2]))
        chance = chance_of(least - _finite(np.repeat(low, sizes, axis=2)), keenness)
        crowd = np.add.reduceat(chance * crowd, self.starts, axis=2)
        return _spread(low, self.entries, self.all_entries, np.inf), _spread(crowd, self.entries, self.all_entries, 0.0)


class _Arrivals:
    """For each leaving class the entering classes it may go on to, and what that costs."""

    def __init__(self, bits: Floats) -> None:
        allowed = np.isfinite(bits)
        most = max(int(allowed.sum(axis=1).max(initial=0)), 1)
        order = np.argsort(~allowed, axis=1, kind="stable")[:, :most]
        self.entries = order
        self.bits = np.take_along_axis(bits, order, axis=1)

    def join(self, least: Floats, crowd: Floats, keenness: float) -> tuple[Floats, Floats]:
        """From (states, entering classes) to (states, leaving classes)."""
        states, (classes, most) = len(least), self.entries.shape
        low, many = np.empty((states, classes)), np.empty((states, classes))
        rows = max(1, AT_ONCE // (classes * most))
        for start in range(0, states, rows):
            part = slice(start, start + rows)
            low[part], many[part] = _merge(
                least[part][:, self.entries] + self.bits, crowd[part][:, self.entries], keenness, axis=2
            )
        return low, many


def _merge(least: Floats, crowd: Floats, keenness: float, *, axis: int) -> tuple[Floats, Floats]:
    """Several ways to go on as one."""
    low = least.min(axis=axis)
    chance = chance_of(least - _finite(np.expand_dims(low, axis)), keenness)
    return low, (chance * crowd).sum(axis=axis)


def chance_of(excess: Floats, keenness: float) -> Floats:
    """``2 ** (-keenness * excess)``, 0 for what is forbidden."""
    chance: NDArray[np.float64] = np.isfinite(excess).astype(np.float64)
    if keenness:
        chance *= np.exp2(-keenness * np.minimum(excess, 1e9))
    return chance


def _finite(bits: Floats) -> Floats:
    """With 0 for infinity, so that it can be taken away."""
    return np.where(np.isfinite(bits), bits, 0.0)


def _spread(values: Floats, entries: Ints, size: int, fill: float) -> Floats:
    out = np.full((*values.shape[:2], size), fill)
    out[:, :, entries] = values
    return out
