"""The words around a system, set where a reader looks for them.

Over the notes, from the staff up: fingers close to their notes; motif labels, each in a small frame; chord names on
one line; changes of tempo and stops; sections. Under the tablature: degrees on one line, chords stacked, and there,
where nothing sounds, a faint ruler with a mark on every beat, so that silence is seen with its length.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from lxml import etree

from phrasewright.engrave.geometry import Extent, extents
from phrasewright.engrave.outlines import SVG, Anchor, Run, Style, width_of
from phrasewright.engrave.overlay import DIGIT_SIZE, Page, Word
from phrasewright.engrave.palette import Ink, paint

FINGER, DEGREE, LABEL, CHORD, DIRECTION = 290.0, 300.0, 320.0, 430.0, 330.0
SECTION, CAPO, BAR_NUMBER = 430.0, 330.0, 290.0
GAP = 60.0  # least room between a word and what is under it
_CAP = 0.68  # height of capitals and figures in em
_DESCENT = 0.22
_OUTSIDE = frozenset({"tie", "tuplet", "slur", "gliss"})  # drawn for a bar rather than for a staff
_STEM_REACH = 130.0  # from the middle of a head past its stem


@dataclass(frozen=True, slots=True)
class Silence:
    """A silent stretch in one bar of a page. x0, x1; ticks: x of the beats inside."""

    x0: float
    x1: float
    ticks: tuple[float, ...]


@dataclass(slots=True)
class Skyline:
    """What already stands, asked for its upper edge."""

    floor: float
    boxes: list[Extent] = field(default_factory=list)

    def top(self, x0: float, x1: float) -> float:
        """The highest point over [x0, x1], at most the floor."""
        return min((box.y0 for box in self.boxes if box.x0 < x1 and x0 < box.x1), default=self.floor)

    def highest(self) -> float:
        """The highest point of all."""
        return min((box.y0 for box in self.boxes), default=self.floor)


def set_words(page: Page, silences: Sequence[Silence], *, first_number: int | None) -> None:
    """Set every word of a page, rule its silences and fix ``page.top`` and ``page.bottom``.

    first_number: the bar number to print at the left, None for none.
    """
    skyline = _notation_skyline(page)
    if first_number is not None:
        _bar_number(page, skyline, first_number)
    _fingers(page, skyline)
    _row(page, skyline, _of(page, "l"), Style.BOLD, LABEL, framed=True)
    _row(page, skyline, _of(page, "h"), Style.REGULAR, CHORD)
    _row(page, skyline, _of(page, "w"), Style.ITALIC, DIRECTION)
    _row(page, skyline, _of(page, "s"), Style.BOLD, SECTION)
    _row(page, skyline, _of(page, "c"), Style.ITALIC, CAPO)
    page.top = skyline.highest() - GAP
    _under(page, silences)


def _of(page: Page, kind: str) -> list[Word]:
    return sorted((word for word in page.words if word.kind == kind), key=lambda word: (word.x, word.number))


def _notation_skyline(page: Page) -> Skyline:
    staves = page.staves(1)
    lines = [next(extents(child, {})) for staff in staves for child in staff if child.tag.endswith("path")]
    skyline = Skyline(min(line.y0 for line in lines))
    for staff in staves:
        for group in (child for child in staff if child.tag.endswith("g")):
            skyline.boxes.extend(extents(group, page.glyphs))
        parent = staff.getparent()
        if parent is not None:
            outside = (child for child in parent if _OUTSIDE & set(str(child.get("class")).split()))
            skyline.boxes.extend(box for child in outside for box in extents(child, page.glyphs))
    return skyline


def _bar_number(page: Page, skyline: Skyline, number: int) -> None:
    runs = [Run(str(number), BAR_NUMBER, Style.ITALIC)]
    y = skyline.top(0.0, width_of(runs)) - GAP
    page.music.append(page.type.line(runs, 0.0, y))
    skyline.boxes.append(Extent(0.0, y - _CAP * BAR_NUMBER, width_of(runs), y))


def _fingers(page: Page, skyline: Skyline) -> None:
    for word in _of(page, "f"):
        runs = [Run(word.text, FINGER)]
        half = max(width_of(runs) / 2 + 30.0, _STEM_REACH)
        y = min(skyline.top(word.x - half, word.x + half), skyline.floor) - GAP
        _place(page, word, runs, word.x, y, Anchor.MIDDLE)
        skyline.boxes.append(Extent(word.x - half, y - _CAP * FINGER, word.x + half, y))


def _row(page: Page, skyline: Skyline, words: list[Word], style: Style, size: float, *, framed: bool = False) -> None:
    """Words on one line over everything below them; a word that would run into the one before goes a line higher."""
    margin = 70.0 if framed else 0.0
    step = size + 2 * margin + GAP / 2
    spots = _lanes(page, words, style, size, margin)
    lowest = min((min(skyline.top(x0 - margin, x1 + margin), skyline.floor) for _, _, x0, x1 in spots), default=0.0)
    baseline = lowest - GAP - (margin if framed else _DESCENT * size)
    for word, lane, x0, x1 in spots:
        y = baseline - lane * step
        box = Extent(x0 - margin, y - _CAP * size - margin, x1 + margin, y + margin)
        if framed:
            page.music.append(_frame(box))
        _place(page, word, [Run(word.text, size, style)], x0, y, Anchor.START)
        skyline.boxes.append(box)


def _lanes(
    page: Page, words: list[Word], style: Style, size: float, margin: float
) -> list[tuple[Word, int, float, float]]:
    """(word, lane, x0, x1): the lowest lane that is free where a word belongs."""
    ends: list[float] = []
    spots = []
    for word in words:
        width = width_of([Run(word.text, size, style)])
        x0 = max(min(word.x, page.width - width - margin), margin)
        lane = next((number for number, end in enumerate(ends) if end <= x0 - margin), len(ends))
        ends[lane : lane + 1] = [x0 + width + margin + size / 4]
        spots.append((word, lane, x0, x0 + width))
    return spots


def _frame(box: Extent) -> etree._Element:
    looks = {"x": box.x0, "y": box.y0, "width": box.x1 - box.x0, "height": box.y1 - box.y0, "rx": 50.0}
    texts = {name: f"{value:.0f}" for name, value in looks.items()}
    ink = {"class": "frame", "fill": "none", "stroke": "currentColor", "stroke-width": "18"}
    return etree.Element(f"{{{SVG}}}rect", texts | ink)


def _place(page: Page, word: Word, runs: Sequence[Run], x: float, y: float, anchor: Anchor) -> None:
    line = page.type.line(runs, x, y, anchor)
    line.set("id", f"{page.prefix}{word.kind}{word.number}")
    line.set("class", _CLASSES[word.kind])
    if word.kind in "fld":
        line.set("data-note", str(word.number))
        line.set("fill", "currentColor")
    page.music.append(line)


_CLASSES = {"f": "finger", "l": "label", "d": "degree", "h": "chord", "s": "section", "c": "capo", "w": "direction"}


# --- under the staves


def _under(page: Page, silences: Sequence[Silence]) -> None:
    staves = page.staves(2) or page.staves(1)
    floor = max(box.y1 for staff in staves for box in extents(staff, page.glyphs))
    rows = _degree_rows(page)
    below_line = DIGIT_SIZE * _CAP / 2 if page.digits else 0.0
    baseline = floor + below_line + 2.2 * GAP + _CAP * DEGREE
    for depth, word in rows:
        _place(page, word, [Run(word.text, DEGREE)], word.x, baseline + depth * DEGREE, Anchor.MIDDLE)
    middle = baseline - _CAP * DEGREE / 2
    if silences:
        page.music.append(_ruler(silences, middle))
    depths = [depth for depth, _ in rows]
    lowest = baseline + max(depths, default=0) * DEGREE if rows else middle if silences else floor
    page.bottom = lowest + GAP + 20.0


def _degree_rows(page: Page) -> list[tuple[int, Word]]:
    """Each degree under its digit (or note), with its depth; those of one chord are stacked, highest string on top."""
    placed = sorted((_under_note(page, word) for word in _of(page, "d")), key=lambda pair: (pair[0].x, pair[1]))
    rows: list[tuple[int, Word]] = []
    for word, _ in placed:
        stacked = bool(rows) and abs(rows[-1][1].x - word.x) < 0.8 * DEGREE
        rows.append((rows[-1][0] + 1 if stacked else 0, word))
    return rows


def _under_note(page: Page, word: Word) -> tuple[Word, float]:
    """The word moved under the middle of its note, and the height of that note."""
    x, y = page.digits.get(word.number, (word.x, 0.0))
    head = page.head_of(f"n{word.number}") if word.number not in page.digits else None
    if head is not None:
        x, y = (head.x0 + head.x1) / 2, head.y0
    return Word(word.kind, word.number, word.text, x), y


def _ruler(silences: Iterable[Silence], y: float) -> etree._Element:
    strokes = []
    for silence in silences:
        strokes.append(f"M{silence.x0:.0f} {y:.0f}H{silence.x1:.0f}")
        strokes.extend(f"M{x:.0f} {y - 60:.0f}v120" for x in silence.ticks)
    looks = {"class": "silence", "fill": "none", "stroke": paint(Ink.RULE), "stroke-width": "22", "d": "".join(strokes)}
    return etree.Element(f"{{{SVG}}}path", looks)
