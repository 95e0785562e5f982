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
from dataclasses import dataclass
from fractions import Fraction

from phrasewright.engrave.density import bar_needs_mm, bars_that_fit, head_mm, line_need_mm
from phrasewright.engrave.mei import chord_names, lead_of, to_mei
from phrasewright.engrave.moments import Line, moments_of, silences_of
from phrasewright.engrave.overlay import close_page, open_page
from phrasewright.engrave.rows import set_words
from phrasewright.engrave.worker import Engraver, shared_engraver
from phrasewright.score.model import Score
from phrasewright.score.notation import written_bars

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
    "spacingStaff": 4,
    "svgRemoveXlink": True,
    "svgViewBox": True,
    "xmlIdChecksum": True,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """One line of music.

    svg: stands alone, sized by its viewBox; first_bar, last_bar: places in the score's bars, from 1; width_mm,
    height_mm: intended size; moments: (quarter notes from the score start, mm from the left), rising, for a cursor.
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

    id_prefix: begins with a letter, unique among the figures of a page. width_mm: of a full line. bars_per_system:
    on every line; None = as many as fit, at most 4. When a line still needs more room, its music is drawn smaller.
    engraver: the process to use; None = one shared by this program. Raises EngravingError when the music cannot be
    drawn, ValueError for a prefix that cannot be an id or a part that cannot be written.
    """
    if not _PREFIX.fullmatch(id_prefix):
        raise ValueError(f"an id prefix begins with a letter and has no spaces, got {id_prefix!r}")
    bars = written_bars(lead_of(score).notes, score.measures)
    needs_mm = bar_needs_mm(bars, score.fifths, chord_names(score.measures))
    room_mm = width_mm - head_mm(score.fifths)
    count = bars_per_system or bars_that_fit(needs_mm, room_mm, min(MOST_BARS, len(bars)))
    count = min(count, len(bars))
    scale = max(line_need_mm(needs_mm, count) / room_mm, 1.0)
    need_mm = head_mm(score.fifths) + line_need_mm(needs_mm, count)
    full_mm = min(width_mm, max(ONE_BAR_MM, need_mm)) if len(bars) == 1 else width_mm
    starts = range(0, len(bars), count)
    mei = to_mei(score, system_starts=frozenset(starts))
    pages = _pages(engraver or shared_engraver(), mei, full_mm * scale)
    widths_mm = [full_mm] * len(pages)
    short = len(bars) - starts[-1]
    if short < count:
        widths_mm[-1] = full_mm * _share(short, count, score.fifths, full_mm)
        pages[-1] = _pages(engraver or shared_engraver(), mei, widths_mm[-1] * scale)[-1]
    known_ids = frozenset(_IDS.findall(mei))
    systems = []
    for index, (page, start) in enumerate(zip(pages, starts, strict=True)):
        line = Line(bars=bars, start=start, end=min(start + count, len(bars)))
        systems.append(_system(page, line, id_prefix, f"{id_prefix}{index}", widths_mm[index], known_ids))
    return Engraving(systems=tuple(systems))


def _system(raw: str, line: Line, prefix: str, glyph_prefix: str, width_mm: float, known_ids: frozenset[str]) -> System:
    first, last = line.start + 1, line.end
    label = f"Bar {first}" if first == last else f"Bars {first} to {last}"
    page = open_page(
        raw, prefix=prefix, glyph_prefix=glyph_prefix, label=f"{label}, engraved music", known_ids=known_ids
    )
    number = line.bars[line.start].measure.number if line.start else None
    set_words(page, silences_of(page, line), first_number=number)
    mm = width_mm / page.width
    return System(
        svg=close_page(page),
        first_bar=first,
        last_bar=last,
        width_mm=width_mm,
        height_mm=(page.bottom - page.top) * mm,
        moments=tuple((time, x * mm) for time, x in moments_of(page, line)),
    )


def _pages(engraver: Engraver, mei: str, width_mm: float) -> list[str]:
    return list(engraver.pages(mei, _OPTIONS | {"pageWidth": round(width_mm * 10)}))


def _share(bars: int, of: int, fifths: int, width_mm: float) -> float:
    """Width of a last line with fewer bars, as a share of a full one: the head, then its part of the rest."""
    head = head_mm(fifths) / width_mm
    return head + (1 - head) * bars / of
