"""Every motif of a position: walks, windows and the ways to cut a run into blocks.

Enumeration is complete: nothing is sampled. ``count_walks`` gives the same totals without listing them, as the
entry sum of a power of the step matrix, and the tests hold both against the closed forms of docs/sources.md
section 9 (for twelve notes 22, 42, 80, 154 stepwise walks of two to five notes).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from enum import StrEnum

from phrasewright.melody.motif import MAX_NOTES, MIN_NOTES, Contour, Motif
from phrasewright.neck.place import Position

SIZES = tuple(range(MIN_NOTES, MAX_NOTES + 1))


class Repeats(StrEnum):
    """May a note be struck twice in a row?"""

    NEVER = "never"
    ALLOWED = "allowed"


class Direction(StrEnum):
    """Which way a run of neighbouring notes goes."""

    RISING = "rising"
    FALLING = "falling"


def motifs_of(
    position: Position,
    *,
    sizes: Collection[int] = SIZES,
    largest_step: int | None = 1,
    repeats: Repeats = Repeats.NEVER,
    contours: Collection[Contour] | None = None,
    cycles: Collection[int] | None = None,
) -> Iterator[Motif]:
    """Every motif of a position, shortest first, then by its steps.

    sizes: notes per motif, 2..5. largest_step: farthest move in notes of the position, None = any distance.
    contours: shapes wanted, None = any. cycles: every note must lie in one of these, None = any.
    Raises ValueError for a size outside 2..5 or a largest step below 1.
    """
    _check(sizes, largest_step)
    inside = [index for index, note in enumerate(position.notes) if cycles is None or note.cycle in cycles]
    reach = _reach(largest_step, repeats)
    for size in sorted(set(sizes)):
        for steps in _walks(inside, size, reach):
            motif = Motif(position, steps)
            if contours is None or motif.contour in contours:
                yield motif


def count_walks(notes: int, size: int, *, largest_step: int | None = 1, repeats: Repeats = Repeats.NEVER) -> int:
    """How many walks of ``size`` notes a row of ``notes`` tones has: the matrix power sum, without listing them."""
    _check((), largest_step)
    reach = _reach(largest_step, repeats)
    endings = [1] * notes
    for _ in range(size - 1):
        endings = [sum(endings[a] for a in range(notes) if reach(b - a)) for b in range(notes)]
    return sum(endings)


def windows_of(
    position: Position, sizes: Collection[int] = SIZES, *, direction: Direction = Direction.RISING
) -> tuple[Motif, ...]:
    """Every run of adjacent notes: N - k + 1 of each size k, lowest first; 4N - 10 in all for sizes 2 to 5."""
    _check(sizes, None)
    runs = []
    for size in sorted(set(sizes)):
        for start in range(len(position.notes) - size + 1):
            steps = tuple(range(start, start + size))
            runs.append(Motif(position, steps if direction is Direction.RISING else steps[::-1]))
    return tuple(runs)


def block_cuts(length: int) -> Iterator[tuple[int, ...]]:
    """Every way to cut a run of ``length`` notes into blocks of two to five, as block sizes in order."""
    if length == 0:
        yield ()
    for first in SIZES:
        if first <= length:
            yield from ((first, *rest) for rest in block_cuts(length - first))


def cut_position(position: Position, blocks: tuple[int, ...]) -> tuple[Motif, ...]:
    """The position from bottom to top as rising motifs of these sizes. Raises ValueError if they do not fill it."""
    if sum(blocks) != len(position.notes):
        raise ValueError(f"blocks {blocks} do not fill a position of {len(position.notes)} notes")
    starts = [sum(blocks[:index]) for index in range(len(blocks))]
    return tuple(Motif(position, tuple(range(start, start + size))) for start, size in zip(starts, blocks, strict=True))


def _check(sizes: Collection[int], largest_step: int | None) -> None:
    if any(not MIN_NOTES <= size <= MAX_NOTES for size in sizes):
        raise ValueError(f"motif sizes lie in {MIN_NOTES}..{MAX_NOTES}, got {sorted(sizes)}")
    if largest_step is not None and largest_step < 1:
        raise ValueError(f"largest step must be at least 1, got {largest_step}")


def _reach(largest_step: int | None, repeats: Repeats) -> Callable[[int], bool]:
    """Which moves (in notes of the position) a walk may make."""
    smallest = 0 if repeats is Repeats.ALLOWED else 1
    if largest_step is None:
        return lambda move: abs(move) >= smallest
    return lambda move: smallest <= abs(move) <= largest_step


def _walks(inside: list[int], size: int, reach: Callable[[int], bool]) -> Iterator[tuple[int, ...]]:
    """Every walk of a size, by its steps."""
    following = {here: [there for there in inside if reach(there - here)] for here in inside}
    walks: Iterator[tuple[int, ...]] = ((first,) for first in inside)
    for _ in range(size - 1):
        walks = _longer(walks, following)
    return walks


def _longer(walks: Iterator[tuple[int, ...]], following: dict[int, list[int]]) -> Iterator[tuple[int, ...]]:
    return ((*walk, there) for walk in walks for there in following[walk[-1]])
