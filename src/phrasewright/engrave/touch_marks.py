"""How notes are played, drawn over and between the fret digits of one line.

Arcs join what one string sounds on into, with H or P over them; a straight line from fret to fret is a slide; an arrow
up to ``full`` or ``½`` is a bend of a whole or half tone; a wavy line is vibrato; ``P.M.`` and dashes last while the
palm mutes. Letters, waves and arrow heads stand in a lane over the first string, in room that ``mei_touches`` keeps
free. Common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from lxml import etree

from phrasewright.engrave.geometry import extents
from phrasewright.engrave.moments import Line
from phrasewright.engrave.outlines import SVG, Anchor, Run, Style, width_of
from phrasewright.engrave.overlay import DIGIT_SIZE, Page
from phrasewright.score.model import Note
from phrasewright.score.technique import PLAIN, Damping, Start
from phrasewright.score.touch_rules import source_of

LETTER = 270.0
LANE = 290.0  # baseline of the letters over the first string
STROKE = 22.0
ARROW_X, ARROW_HEAD = 300.0, 55.0  # of a bend, from the middle of its digit
ARC_RISE, LOOSE_END = 130.0, 330.0
WAVE, WAVE_RISE, SHORTEST_WAVE = 90.0, 42.0, 180.0
DASH, DASH_GAP = 90.0, 70.0
GAP = 50.0
BRACKET = 70.0
_BENDS = {1: "½", 2: "full"}
_LETTERS = {Start.HAMMERED: "H", Start.PULLED: "P"}


@dataclass(slots=True, kw_only=True)
class _Lane:
    """The marks of one line.

    top: height of the first string; taken: what stands in the lane, as (x0, x1); bent: where a bend's word ends.
    """

    page: Page
    line: Line
    notes: Sequence[Note]
    moments: Sequence[tuple[Fraction, float]]
    top: float
    taken: list[tuple[float, float]] = field(default_factory=list)
    bent: dict[int, float] = field(default_factory=dict)

    def x_at(self, time: Fraction) -> float:
        """Where a time stands, the ends of the line outside."""
        before = [moment for moment in self.moments if moment[0] <= time][-1:] or self.moments[:1]
        after = [moment for moment in self.moments if moment[0] > time][:1] or self.moments[-1:]
        (t0, x0), (t1, x1) = before[0], after[0]
        return x0 if t1 <= t0 or time <= t0 else x0 + (x1 - x0) * float((time - t0) / (t1 - t0))

    def end_x(self, time: Fraction) -> float:
        """Where what lasts until a time ends: before the bar line when it lasts to the end of a bar."""
        last = next((i for i, bar in enumerate(self.line.own) if time <= bar.measure.end), len(self.line.own) - 1)
        measure = list(self.page.measures())[last]
        lines = (child for child in measure if "barLine" in str(child.get("class")))
        right = min(box.x0 for bar_line in lines for box in extents(bar_line, self.page.glyphs))
        return min(self.x_at(time), right)

    def add(self, element: etree._Element, index: int) -> None:
        """Put a mark into the music, lit with its note."""
        element.set("class", "touch")
        element.set("data-note", str(index))
        self.page.music.append(element)

    def write(self, text: str, x: float, index: int, anchor: Anchor = Anchor.MIDDLE) -> None:
        """A word in the lane."""
        runs = [Run(text, LETTER, Style.ITALIC)]
        self.add(self.page.type.line(runs, x, self.top - LANE, anchor), index)
        x0 = x - (width_of(runs) / 2 if anchor is Anchor.MIDDLE else 0.0)
        self.taken.append((x0, x0 + width_of(runs)))

    def free(self, x0: float, x1: float) -> tuple[float, float]:
        """The widest stretch of the lane between x0 and x1 in which nothing stands."""
        inside = sorted((left - GAP, right + 2 * GAP) for left, right in self.taken if left - GAP < x1 and x0 < right)
        starts = [x0, *(right for _, right in inside)]
        ends = [*(left for left, _ in inside), x1]
        return max(zip(starts, ends, strict=True), key=lambda stretch: stretch[1] - stretch[0])


def draw_touches(page: Page, line: Line, notes: Sequence[Note], moments: Sequence[tuple[Fraction, float]]) -> None:
    """Draw the marks of a line's touches. notes: the part's; moments: (time, x) of the line."""
    sounding = sorted({index for bar in line.own for voice in bar.voices for event in voice for index in event.indices})
    if not page.staves(2) or all(notes[index].touch == PLAIN for index in sounding):
        return
    strings = (path for path in page.staves(2)[0] if path.get("class") == "string")
    top = min(box.y0 for path in strings for box in extents(path, {}))
    lane = _Lane(page=page, line=line, notes=notes, moments=moments, top=top)
    for index in sounding:
        _join(lane, index)
        _bend(lane, index)
    _palms(lane, [index for index in sounding if index in page.digits])
    for index in sounding:
        _wave(lane, index)


# --- one string sounding on


def _join(lane: _Lane, index: int) -> None:
    """The arc, letter or line to a note from the one before on its string."""
    note = lane.notes[index]
    source = source_of(lane.notes, index) if note.touch.is_legato else None
    if source is None or index not in lane.page.digits:
        return
    x1, y1 = _middle(lane, index)
    x1 -= _half(note)
    loose = (x1 - LOOSE_END, y1)
    x0, y0 = _last_middle(lane, source) or loose
    if _last_middle(lane, source) is not None:
        x0 += _half(lane.notes[source]) + (BRACKET if source in lane.page.held_digits else 0.0)
    middle = (x0 + x1) / 2
    lift = DIGIT_SIZE / 3 + 15.0
    arc = f"M{x0:.0f} {y0 - lift:.0f}Q{middle:.0f} {min(y0, y1) - lift - ARC_RISE:.0f} {x1:.0f} {y1 - lift:.0f}"
    lane.add(_stroke(arc), index)
    if note.touch.start is Start.SLID:
        rise = 60.0 if _rises(lane.notes[source], note) else -60.0
        lane.add(_stroke(f"M{x0:.0f} {y0 + rise:.0f}L{x1:.0f} {y1 - rise:.0f}"), index)
    elif note.touch.damping is not Damping.PALM:
        lane.write(_LETTERS[note.touch.start], middle, index)


def _rises(before: Note, note: Note) -> bool:
    return note.pitch.midi > before.pitch.midi


def _middle(lane: _Lane, index: int) -> tuple[float, float]:
    """Middle of a note's digit."""
    x, y = lane.page.digits[index]
    return x, y - DIGIT_SIZE / 3


def _last_middle(lane: _Lane, index: int) -> tuple[float, float] | None:
    """Middle of the last digit of a note, the one in brackets where it is tied; None on another line."""
    found = lane.page.held_digits.get(index, lane.page.digits.get(index))
    return None if found is None else (found[0], found[1] - DIGIT_SIZE / 3)


def _half(note: Note) -> float:
    """From the middle of a digit to where a line may begin."""
    figures = 1 if note.place is None else len(str(note.place.fret))
    return DIGIT_SIZE * (0.25 * figures) + 40.0


# --- bends, vibrato, palm mutes


def _bend(lane: _Lane, index: int) -> None:
    note = lane.notes[index]
    if note.touch.bend is None or index not in lane.page.digits:
        return
    x, y = _middle(lane, index)
    tip = lane.top - LANE + GAP
    turn, base = x + _half(note) + ARROW_X, tip + ARROW_HEAD
    lane.add(_stroke(f"M{x + _half(note):.0f} {y:.0f}Q{turn:.0f} {y:.0f} {turn:.0f} {base:.0f}"), index)
    head = f"M{turn - ARROW_HEAD:.0f} {base:.0f}L{turn:.0f} {tip:.0f}L{turn + ARROW_HEAD:.0f} {base:.0f}"
    lane.add(_stroke(head), index)
    lane.write(_BENDS[note.touch.bend.semitones], turn, index)
    lane.bent[index] = lane.taken[-1][1] + GAP


def _wave(lane: _Lane, index: int) -> None:
    note = lane.notes[index]
    if not note.touch.vibrato:
        return
    x0 = lane.bent.get(index) or lane.moments[0][1]
    if index in lane.page.digits and index not in lane.bent:
        x0 = lane.page.digits[index][0] - _half(note) / 2
    x0, x1 = lane.free(x0, max(lane.end_x(note.end) - 2 * GAP, x0 + SHORTEST_WAVE))
    waves = int((x1 - x0) / WAVE)
    if waves > 0:
        half = f"q{WAVE / 4:.1f} {{0}} {WAVE / 2:.1f} 0"
        turns = (half.format(f"{-WAVE_RISE:g}") + half.format(f"{WAVE_RISE:g}")) * waves
        lane.add(_stroke(f"M{x0:.0f} {lane.top - LANE - LETTER / 4:.0f}{turns}"), index)


def _palms(lane: _Lane, indices: Iterable[int]) -> None:
    runs: list[list[int]] = []
    before = None
    for index in indices:
        if lane.notes[index].touch.damping is Damping.PALM:
            if before is None or before != index - 1:
                runs.append([])
            runs[-1].append(index)
            before = index
    for run in runs:
        x0 = lane.page.digits[run[0]][0] - DIGIT_SIZE / 4
        lane.write("P.M.", x0, run[0], Anchor.START)
        start, x1 = lane.taken[-1][1] + GAP, lane.page.digits[run[-1]][0]
        dashes = int((x1 - start + DASH_GAP) / (DASH + DASH_GAP))
        if dashes > 0:
            y = lane.top - LANE - LETTER / 4
            marks = "".join(f"M{start + n * (DASH + DASH_GAP):.0f} {y:.0f}h{DASH:g}" for n in range(dashes))
            lane.add(_stroke(marks), run[0])
            lane.taken[-1] = (lane.taken[-1][0], x1)


def _stroke(data: str) -> etree._Element:
    looks = {"fill": "none", "stroke": "currentColor", "stroke-width": f"{STROKE:g}", "stroke-linecap": "round"}
    return etree.Element(f"{{{SVG}}}path", looks | {"d": data})
