"""Small items set one after the other, folded where the line ends: legends, grades, places."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from phrasewright.engrave.lettering import Run, letter_runs, runs_width_mm

LINE_MM = 5.6
GAP_MM = 4.5


@dataclass(frozen=True, slots=True)
class Item:
    """A drawn sign of some width, then words. draw: takes the sign's centre in mm."""

    sign_mm: float
    draw: Callable[[float, float], str]
    words: tuple[Run, ...]

    @property
    def width_mm(self) -> float:
        """Room it takes along the line."""
        return self.sign_mm + runs_width_mm(self.words)


def words_item(*runs: Run) -> Item:
    """An item without a sign."""
    return Item(0.0, lambda _x, _y: "", runs)


def flow(items: Sequence[Item], *, left: float, top: float, right: float) -> tuple[list[str], float]:
    """Set items between two edges; returns the marks and the y below the last line (``top`` when there are none)."""
    marks, x, y = [], left, top
    for index, item in enumerate(items):
        if index and x + item.width_mm > right:
            x, y = left, y + LINE_MM
        centre = y + LINE_MM / 2
        if item.sign_mm:
            marks.append(item.draw(x + item.sign_mm / 2 - 0.5, centre))
        marks.append(letter_runs(x + item.sign_mm, centre + 1.15, item.words).svg)
        x += item.width_mm + GAP_MM
    return marks, y + LINE_MM if items else top
