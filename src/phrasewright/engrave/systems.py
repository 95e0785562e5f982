"""A score's lead as figures: one SVG for each system of notation over tablature.

    engraving = engrave_score(score, id_prefix="study-1-")
    narrow = engrave_score(score, id_prefix="study-1s-", width_mm=100.0, bars_per_system=2)

Lighting a note: everything that belongs to note k of the lead (head, fret digit, degree, finger, label, tied pieces)
has ``data-note="k"``; give these elements a class that sets ``color``. Single elements: ``{prefix}n{k}`` head,
``{prefix}t{k}`` digit, with ``-2``, ``-3`` for tied pieces, ``{prefix}m{b}`` bar b. See docs/engraving.md.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from phrasewright.engrave.density import bar_needs_mm, head_mm, line_counts
from phrasewright.engrave.mei import chord_names, lead_of, to_mei
from phrasewright.engrave.moments import Line, moments_of, silences_of
from phrasewright.engrave.overlay import UNITS_PER_MM, Page, close_page, open_page
from phrasewright.engrave.rows import set_words
from phrasewright.engrave.touch_marks import draw_touches
from phrasewright.engrave.worker import Engraver, shared_engraver
from phrasewright.score.model import Note, Score
from phrasewright.score.notation import WrittenBar, written_bars

MOST_BARS = 4  # on a line when the number is left open
ONE_BAR_MM = 110.0  # a piece of one bar is not drawn wider unless it needs more
_PREFIX = re.compile(r"[A-Za-z][\w-]*")
_IDS = re.compile(r'xml:id="([^"]+)"')
_OPTIONS: dict[str, int | float | bool | str] = {
    "adjustPageHeight": True,
    "breaks": "encoded",
    "footer": "none",
    "header": "none",
    "minLastJustification": 0.0,
    "pageMarginBottom": 0,
    "pageMarginLeft": 0,
    "pageMarginRight": 0,
    "pageMarginTop": 0,
    "smuflTextFont": "none",
    "spacingLinear": 0.25,
    "spacingNonLinear": 0.6,
    "spacingStaff": 2,
    "svgRemoveXlink": True,
    "svgViewBox": True,
    "xmlIdChecksum": True,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """One line of music.

    svg: stands alone, sized by its viewBox; all systems of an engraving are equally wide, a short last line leaves
    paper at its right. first_bar, last_bar: places in the score's bars, from 1; width_mm, height_mm: intended size;
    moments: (quarter notes from the score start, mm from the left), rising, for a cursor.
    """

    svg: str
    first_bar: int
    last_bar: int
    width_mm: float
    height_mm: float
    moments: tuple[tuple[Fraction, float], ...]

    def x_mm(self, time: Fraction) -> float:
        """Where a time stands on the line, in mm from its left edge; the ends outside."""
        times = [moment for moment, _ in self.moments]
        place = bisect_right(times, time)
        if place in (0, len(times)):
            return self.moments[0 if place == 0 else -1][1]
        (t0, x0), (t1, x1) = self.moments[place - 1], self.moments[place]
        return x0 + (x1 - x0) * float((time - t0) / (t1 - t0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Engraving:
    """All systems of a score, in order."""

    systems: tuple[System, ...]


def engrave_score(
    score: Score,
    *,
    id_prefix: str,
    width_mm: float = 180.0,
    bars_per_system: int | None = None,
    engraver: Engraver | None = None,
) -> Engraving:
    """Draw the lead of a score.

    id_prefix: begins with a letter, unique among the figures of a page. width_mm: of every figure. bars_per_system:
    on every line; None = phrases of 4, halved where they do not fit. When a line still needs more room, all music is
    drawn smaller. engraver: the process to use; None = one shared by this program. Raises EngravingError when the music
    cannot be drawn, ValueError for a prefix that cannot be an id or a part that cannot be written.
    """
    if not _PREFIX.fullmatch(id_prefix):
        raise ValueError(f"an id prefix begins with a letter and has no spaces, got {id_prefix!r}")
    bars = written_bars(lead_of(score).notes, score.measures)
    layout = _layout(score, bars, width_mm, bars_per_system)
    mei = to_mei(score, system_starts=frozenset(layout.starts))
    known_ids = frozenset(_IDS.findall(mei))
    systems = []
    for index, raw in enumerate(_raw_pages(mei, layout, engraver or shared_engraver())):
        prefixes = {"prefix": id_prefix, "glyph_prefix": f"{id_prefix}{index}"}
        line = Line(bars=bars, start=layout.starts[index], end=layout.ends[index])
        page = open_page(raw, **prefixes, label=_label(line), known_ids=known_ids)
        systems.append(_system(page, line, layout, lead_of(score).notes))
    return Engraving(systems=tuple(systems))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layout:
    """How bars are shared out.

    starts, ends: first bar of each line, from 0, and the bar after its last; width_mm: of the figures; full_mm,
    short_mm: of music on full and last lines; scale: how much larger the music is laid out than it is shown, >= 1.
    """

    starts: tuple[int, ...]
    ends: tuple[int, ...]
    width_mm: float
    full_mm: float
    short_mm: float
    scale: float


def _layout(score: Score, bars: tuple[WrittenBar, ...], width_mm: float, bars_per_system: int | None) -> _Layout:
    needs_mm = bar_needs_mm(bars, score.fifths, chord_names(score.measures))
    head = head_mm(score.fifths)
    room_mm = width_mm - head
    counts = _counts(needs_mm, room_mm, bars_per_system)
    starts = tuple(accumulate(counts[:-1], initial=0))
    ends = (*starts[1:], len(bars))
    line_needs_mm = [sum(needs_mm[start:end]) for start, end in zip(starts, ends, strict=True)]
    need_mm = max(line_needs_mm)
    full_mm = min(width_mm, max(ONE_BAR_MM, head + need_mm)) if len(bars) == 1 else width_mm
    short_mm = max((full_mm - head) * (len(bars) - starts[-1]) / counts[-1], line_needs_mm[-1])
    return _Layout(
        starts=starts,
        ends=ends,
        width_mm=width_mm,
        full_mm=full_mm,
        short_mm=min(head + short_mm, full_mm),
        scale=max(need_mm / room_mm, 1.0),
    )


def _counts(needs_mm: Sequence[float], room_mm: float, asked: int | None) -> tuple[int, ...]:
    """Bars that each line has room for; the last one may hold fewer. A piece shorter than a line fills it."""
    most = min(asked or MOST_BARS, len(needs_mm))
    return (most,) * -(-len(needs_mm) // most) if asked else line_counts(needs_mm, room_mm, most)


def _raw_pages(mei: str, layout: _Layout, engraver: Engraver) -> list[str]:
    pages = _pages(engraver, mei, layout.full_mm * layout.scale)
    if layout.short_mm < layout.full_mm:
        pages[-1] = _pages(engraver, mei, layout.short_mm * layout.scale)[-1]
    return pages


def _label(line: Line) -> str:
    bars = f"Bar {line.end}" if line.end == line.start + 1 else f"Bars {line.start + 1} to {line.end}"
    return f"{bars}, engraved music"


def _system(page: Page, line: Line, layout: _Layout, notes: Sequence[Note]) -> System:
    moments = moments_of(page, line)
    silences = silences_of(page, line)
    draw_touches(page, line, notes, moments)
    page.width = layout.width_mm * layout.scale * UNITS_PER_MM
    set_words(page, silences, first_number=line.bars[line.start].measure.number if line.start else None)
    mm = layout.width_mm / page.width
    return System(
        svg=close_page(page),
        first_bar=line.start + 1,
        last_bar=line.end,
        width_mm=layout.width_mm,
        height_mm=(page.bottom - page.top) * mm,
        moments=tuple((time, x * mm) for time, x in moments),
    )


def _pages(engraver: Engraver, mei: str, width_mm: float) -> list[str]:
    return list(engraver.pages(mei, _OPTIONS | {"pageWidth": round(width_mm * 10)}))
