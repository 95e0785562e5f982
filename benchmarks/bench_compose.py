"""Composing a study of 32 bars with 500 candidates in every bar, beside a general constraint solver.

usage: python benchmarks/bench_compose.py [--limit SECONDS]

Prints seconds for laying out the problem, for the best study and for 100 drawn ones, all on one core; then OR-Tools
CP-SAT on the same problem with costs in whole thousandths of a bit, the ratio, and whether the optima are equal. Last,
the same with "every motif of a shelf of eight at least once".
"""

from __future__ import annotations

import argparse
import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(name, "1")

import time  # noqa: E402
from collections.abc import Sequence  # noqa: E402
from dataclasses import replace  # noqa: E402
from fractions import Fraction  # noqa: E402
from itertools import combinations, product  # noqa: E402
from random import Random  # noqa: E402

import numpy as np  # noqa: E402

from phrasewright.compose.best import best_paths  # noqa: E402
from phrasewright.compose.board import Board  # noqa: E402
from phrasewright.compose.conflict import fails  # noqa: E402
from phrasewright.compose.costs import Costs, Weights  # noqa: E402
from phrasewright.compose.draw import draw_paths  # noqa: E402
from phrasewright.compose.lattice import Boundary, Lattice, Tally  # noqa: E402
from phrasewright.compose.material import Material  # noqa: E402
from phrasewright.compose.problem import lattice_of  # noqa: E402
from phrasewright.compose.rules.climb import ClimbTo  # noqa: E402
from phrasewright.compose.rules.paired import QuestionAndAnswer  # noqa: E402
from phrasewright.compose.rules.rule import Rule  # noqa: E402
from phrasewright.compose.rules.single import BeginWith, EndOn, EndOnChordTones, EndWith, Spot  # noqa: E402
from phrasewright.compose.rules.total import EveryMotif, KeepSpace, LongestRun  # noqa: E402
from phrasewright.compose.slots import Candidate, Slot  # noqa: E402
from phrasewright.compose.to_go import look_ahead  # noqa: E402
from phrasewright.melody.phrase import Phrase  # noqa: E402
from phrasewright.melody.shelf import Shelf, ShelfMotif, choose_shelf  # noqa: E402
from phrasewright.neck.catalogue import instrument  # noqa: E402
from phrasewright.neck.search import box  # noqa: E402
from phrasewright.score.chart import Chart, ChartBar  # noqa: E402
from phrasewright.theory.chord_symbol import parse_chord  # noqa: E402
from phrasewright.theory.count import Count, parse_count  # noqa: E402
from phrasewright.theory.interval import Degree  # noqa: E402
from phrasewright.theory.meter import Meter  # noqa: E402
from phrasewright.theory.pitch import NoteName  # noqa: E402
from phrasewright.theory.scale import SCALE_KINDS, Scale  # noqa: E402

BARS, CANDIDATES = 32, 500
METER = Meter(4, 4)
BLUES = ["A7", "D7", "A7", "A7", "D7", "D7", "A7", "A7", "E7", "D7", "A7", "E7"]
EIGHTHS = ("1", "&", "2", "&", "3", "&", "4", "&")
LANDINGS = EndOn(tuple(map(Degree.parse, ("1", "b3", "4", "5", "b7"))))
RULES: tuple[Rule, ...] = (
    KeepSpace(Fraction(2, 5), Fraction(4, 5)),
    LongestRun(2),
    QuestionAndAnswer(),
)


def counts(notes: int) -> list[Count]:
    """Every count of so many notes on the eighths of a bar."""
    found = []
    for places in combinations(range(8), notes):
        words = []
        for place in places:
            beat, half = divmod(place, 2)
            words.append(f"({beat + 1}) &" if half and 2 * beat not in places else EIGHTHS[place])
        found.append(parse_count(" ".join(words), METER))
    return found


def board(sizes: tuple[int, ...], motifs: int, *, bars: int = BARS, candidates: int = CANDIDATES) -> Board:
    """Blues in A, a phrase in every bar."""
    scale = Scale(NoteName("A"), SCALE_KINDS["dorian"])
    position = box(scale, instrument("guitar"), near_fret=5)
    chart = Chart(
        meter=METER,
        bars=tuple(ChartBar(chords=((parse_chord(BLUES[bar % 12]), METER.bar),)) for bar in range(bars)),
    )
    shelf = choose_shelf(position, sizes=sizes, how_many=min(26, 2 * motifs), chords=chart.chords, largest_step=2)
    shelf = Shelf(position=position, items=_one_peak(shelf.items, motifs))
    material = Material(shelf=shelf, chart=chart, space=Fraction(2, 5))
    offered = [
        Candidate(item=item, phrase=Phrase(item.motif, count))
        for item in shelf.items
        for count in counts(len(item.motif.steps))
    ]
    offer = tuple(Random(1).sample(offered, candidates))
    return Board(
        material=material,
        slots=tuple(Slot(bar=bar, bars=1) for bar in range(bars)),
        offers=(offer,) * bars,
        bars=bars,
    )


def _one_peak(items: Sequence[ShelfMotif], motifs: int) -> tuple[ShelfMotif, ...]:
    """So many motifs that may end where they do, of which just one reaches the highest note: a line can climb to it."""
    tops = {item.letter: max(note.pitch.midi for note in item.motif.notes) for item in items}
    lands = [item for item in items if str(item.motif.notes[-1].degree) in ("1", "b3", "4", "5", "b7")]
    highest = max(lands, key=lambda item: tops[item.letter])
    lower = [item for item in lands if tops[item.letter] < tops[highest.letter]]
    lower.sort(key=lambda item: tops[item.letter])
    spread = np.linspace(0, len(lower) - 1, motifs - 1).round().astype(int)
    return (*(lower[index] for index in spread), highest)


def full_rules(here: Board, *more: Rule) -> tuple[Rule, ...]:
    """The rules with the shelf's peak and the first pair of a first and a last note that can be had with it."""
    items = here.material.shelf.items
    peak = max((note for item in items for note in item.motif.notes), key=lambda note: note.pitch.midi)
    firsts = dict.fromkeys(Spot(item.motif.notes[0].degree) for item in items)
    lasts = dict.fromkeys(Spot(item.motif.notes[-1].degree) for item in items)
    for first, last in product(firsts, lasts):
        rules = (*RULES, ClimbTo(Spot(peak.degree, peak.cycle)), BeginWith(first), EndWith(last))
        if not fails(here, (*rules, *more)):
            return (*rules, *more)
    raise SystemExit("these rules cannot be kept together")


def compose(here: Board, rules: tuple[Rule, ...]) -> tuple[Lattice, float]:
    """Print times; returns the lattice and the least bits."""
    started = time.perf_counter()
    lattice = lattice_of(Costs(board=here, weights=Weights()), rules)
    laid_out = time.perf_counter()
    to_go = look_ahead(lattice, keenness=1.5)
    bits, path = next(best_paths(to_go))
    best = time.perf_counter()
    drawn = draw_paths(to_go, Random(1), how_many=100)
    done = time.perf_counter()
    kept = all(np.isfinite(lattice.bits_of(one)) for one in [path, *drawn])
    print(f"| laying out fits, joins and rules | {laid_out - started:.2f} s |")
    print(f"| best study ({bits:.3f} bits) | {best - laid_out:.2f} s |")
    print(f"| 100 drawn studies, all rules kept: {kept} | {done - best:.2f} s |")
    print(f"| best and 100 drawn | {done - laid_out:.2f} s |")
    return lattice, bits


def whole(lattice: Lattice) -> Lattice:
    """The lattice with costs rounded to thousandths of a bit, in thousandths."""

    def rounded(bits: np.ndarray) -> np.ndarray:
        return np.where(np.isfinite(bits), np.round(1000 * bits), np.inf)

    boundaries = {id(one): replace(one, bits=rounded(one.bits)) for one in lattice.boundaries}
    return replace(
        lattice,
        own=tuple(rounded(bits) for bits in lattice.own),
        boundaries=tuple(boundaries[id(one)] for one in lattice.boundaries),
    )


def solver(lattice: Lattice, limit_s: float) -> None:
    """CP-SAT on the whole-number lattice, one worker, against our optimum."""
    from ortools.sat.python import cp_model

    started = time.perf_counter()
    ours, path = next(best_paths(look_ahead(lattice)))
    our_s = time.perf_counter() - started
    started = time.perf_counter()
    model = cp_model.CpModel()
    chosen, terms = [], []
    for own in lattice.own:
        here = {int(i): model.new_bool_var("") for i in np.flatnonzero(np.isfinite(own))}
        model.add_exactly_one(here.values())
        terms += [int(own[i]) * var for i, var in here.items()]
        chosen.append(here)
    for slot, boundary in enumerate(lattice.boundaries):
        _pairs(model, chosen[slot], chosen[slot + 1], boundary, terms)
    _runs(model, chosen, lattice)
    for tally in lattice.tallies:
        _automaton(model, chosen, tally)
    model.minimize(sum(terms))
    built_s = time.perf_counter() - started
    engine = cp_model.CpSolver()
    engine.parameters.num_workers = 1
    engine.parameters.linearization_level = 2  # the flows are nearly a linear programme: without it no proof in 400 s
    engine.parameters.max_time_in_seconds = limit_s
    started = time.perf_counter()
    status = engine.solve(model)
    spent = time.perf_counter() - started
    name = engine.status_name(status)
    found = engine.objective_value if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else float("nan")
    print(f"| ours, whole thousandths | {our_s:.2f} s | optimum {ours:.0f} |")
    bound = engine.best_objective_bound
    print(f"| CP-SAT, one worker | {spent:.1f} s (model {built_s:.1f} s) | {name} {found:.0f}, bound {bound:.0f} |")
    print(f"| ratio | {spent / our_s:.0f} x | optima equal: {found == ours} |")
    assert len(path) == len(lattice.own)


def _pairs(model, before, after, boundary: Boundary, terms) -> None:
    """Class booleans on both sides; one boolean for each allowed pair of classes."""
    leave = {}
    for i, var in before.items():
        leave.setdefault(int(boundary.leaving[i]), []).append(var)
    enter = {}
    for i, var in after.items():
        enter.setdefault(int(boundary.entering[i]), []).append(var)
    rows, columns = {one: [] for one in leave}, {one: [] for one in enter}
    for one in leave:
        for other in enter:
            bits = boundary.bits[one, other]
            if np.isfinite(bits):
                pair = model.new_bool_var("")
                rows[one].append(pair)
                columns[other].append(pair)
                terms.append(int(bits) * pair)
    for one, pairs in rows.items():
        model.add(sum(pairs) == sum(leave[one]))
    for other, pairs in columns.items():
        model.add(sum(pairs) == sum(enter[other]))


def _runs(model, chosen, lattice: Lattice) -> None:
    """No motif three times running: by the letter classes of neighbouring boundaries."""
    kinds = [_kinds(boundary) for boundary in lattice.boundaries]
    for slot in range(len(lattice.boundaries) - 1):
        first, second = lattice.boundaries[slot], lattice.boundaries[slot + 1]
        for kind in set(kinds[slot][0].values()):
            a = [v for i, v in chosen[slot].items() if kinds[slot][0].get(int(first.leaving[i])) == kind]
            b = [v for i, v in chosen[slot + 1].items() if kinds[slot][1].get(int(first.entering[i])) == kind]
            c = [v for i, v in chosen[slot + 2].items() if kinds[slot + 1][1].get(int(second.entering[i])) == kind]
            if a and b and c and lattice.longest_run == 2:
                model.add(sum(a) + sum(b) + sum(c) <= 2)


def _kinds(boundary: Boundary) -> tuple[dict[int, int], dict[int, int]]:
    """Letter of each leaving and entering class, numbered by the first entering class of that letter."""
    leave, enter = {}, {}
    for one in range(boundary.same.shape[0]):
        same = np.flatnonzero(boundary.same[one])
        if len(same):
            leave[one] = int(same[0])
            enter.update({int(other): int(same[0]) for other in same})
    return leave, enter


def _automaton(model, chosen, tally: Tally) -> None:
    """Layered flow: a boolean for each state between slots and for each move, by the symbol read."""
    state = {0: 1}
    for slot, table in enumerate(tally.moves):
        said = {}
        for i, var in chosen[slot].items():
            said.setdefault(int(tally.says[slot][i]), []).append(var)
        arrive, out, read = {}, {one: [] for one in state}, {one: [] for one in said}
        for one in state:
            for mark, candidates in said.items():
                after = int(table[one, mark])
                if after >= 0 and candidates:
                    move = model.new_bool_var("")
                    out[one].append(move)
                    read[mark].append(move)
                    arrive.setdefault(after, []).append(move)
        for one, var in state.items():
            model.add(sum(out[one]) == var)
        for mark, candidates in said.items():
            model.add(sum(read[mark]) == sum(candidates))
        state = {}
        for after, into in arrive.items():
            state[after] = model.new_bool_var("")
            model.add(sum(into) == state[after])
    for after, var in state.items():
        if not tally.accepts[after]:
            model.add(var == 0)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--limit", type=float, default=120.0, help="seconds that the general solver may take")
    parser.add_argument("--without-solver", action="store_true")
    options = parser.parse_args()
    here = board((3,), 25)
    rules = full_rules(here, EndOnChordTones())
    print(f"32 bars, {CANDIDATES} candidates each: {'; '.join(rule.words for rule in rules)}")
    lattice, _ = compose(here, rules)
    if not options.without_solver:
        solver(whole(lattice), options.limit)
        small = board((3,), 25, bars=16)
        print("the same in 16 bars")
        solver(whole(compose(small, full_rules(small, EndOnChordTones()))[0]), options.limit)
    print("and every motif of a shelf of eight at least once")
    here = board((4,), 8)
    compose(here, full_rules(here, LANDINGS, EveryMotif(whole=True)))


if __name__ == "__main__":
    main()
