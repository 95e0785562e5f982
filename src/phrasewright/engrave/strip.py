"""A strip of bars: the lead's phrases as inked lines of pitch in time, silence as open paper with its length.

Chord names stand above where they sound, a motif's letter over the note where it begins; a new meter stands under its
first bar. Dead notes are crosses outside the line. Silence of a counted unit or more carries a bracket with its length;
one that runs over the end of a line has an open bracket on both.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from phrasewright.engrave.contour import HEAD_MM, Sound, dead_head, head, rest_bracket, rest_words, ribbons
from phrasewright.engrave.lettering import Anchor, Face, Lettered, Style, letter, letter_chord
from phrasewright.engrave.palette import Ink
from phrasewright.engrave.svg import RULE, Box, Pen, figure, group, line, rectangle
from phrasewright.engrave.words import spoken_exercise
from phrasewright.score.model import Measure, Note, Part, PartRole, Score
from phrasewright.score.technique import Damping

BARS_A_LINE = 4
SHEET_MM = 180.0
CHORD_MM = 4.8
_EDGE_MM, _NUMBER_MM = 1.0, 7.0
_CHORDS_MM, _LABELS_MM, _PLOT_MM, _FOOT_MM, _GAP_MM = 6.4, 5.6, 22.0, 2.4, 3.0
LINE_MM = _CHORDS_MM + _LABELS_MM + _PLOT_MM + _FOOT_MM + _GAP_MM
_LEAD_IN_MM = 2.4  # from a bar line to a note on its first beat
_LABEL = Style(face=Face.SERIF_BOLD, size_mm=4.2)
_METER = Style(face=Face.SERIF_BOLD, size_mm=5.0)
_NUMBER = Style(ink=Ink.HELP)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the strip. quarter_mm: width of a quarter note; low_midi, step_mm: the pitch scale."""

    measures: tuple[Measure, ...]
    top: float
    left: float
    quarter_mm: float
    low_midi: int
    step_mm: float

    @property
    def start(self) -> Fraction:
        """Score time of its first bar."""
        return self.measures[0].onset

    @property
    def end(self) -> Fraction:
        """Score time at its end."""
        return self.measures[-1].end

    @property
    def plot_bottom(self) -> float:
        """y of the foot of the pitch field."""
        return self.top + _CHORDS_MM + _LABELS_MM + _PLOT_MM

    def bar_line_mm(self, time: Fraction) -> float:
        """x of the bar line at a bar's start or end."""
        return self.left + float(time - self.start) * self.quarter_mm

    def time_mm(self, time: Fraction) -> float:
        """x of a moment: linear in its bar, which begins a little after the bar line so that no head sits on one."""
        bar = next((bar for bar in self.measures if time < bar.end), None)
        if bar is None:
            return self.bar_line_mm(self.end)
        x0, x1 = self.bar_line_mm(bar.onset) + _LEAD_IN_MM, self.bar_line_mm(bar.end)
        return x0 + float((time - bar.onset) / bar.meter.bar) * (x1 - x0)

    def end_mm(self, time: Fraction) -> float:
        """x where a sound stops: as ``time_mm``, but the end of a bar is at its bar line."""
        at_bar_line = any(time == bar.end for bar in self.measures)
        return self.bar_line_mm(time) if at_bar_line else self.time_mm(time)

    def pitch_mm(self, pitch_midi: int) -> float:
        """y of a pitch."""
        return self.plot_bottom - 3.0 - (pitch_midi - self.low_midi) * self.step_mm


def lines(score: Score, *, bars_per_line: int = BARS_A_LINE, width_mm: float = SHEET_MM) -> tuple[Line, ...]:
    """Cut a score into lines of one time scale. Raises ValueError without a lead, or when bars would be under 18 mm."""
    if bars_per_line < 1:
        raise ValueError(f"a line needs a bar, got {bars_per_line}")
    rows = [score.measures[at : at + bars_per_line] for at in range(0, len(score.measures), bars_per_line)]
    left = _EDGE_MM + _NUMBER_MM
    longest = max(row[-1].end - row[0].onset for row in rows)
    room = width_mm - left - _EDGE_MM - 1.0
    if room / bars_per_line < 18.0:
        raise ValueError(f"{bars_per_line} bars do not fit {width_mm} mm")
    pitches = [note.pitch.midi for note in score.part(PartRole.LEAD).notes] or [60]
    step = (_PLOT_MM - 6.0) / max(max(pitches) - min(pitches), 12)
    low = min(pitches) - max(0, 12 - (max(pitches) - min(pitches))) // 2
    shorter = max(longest, bars_per_line * score.measures[0].meter.bar) if len(rows) == 1 else longest
    return tuple(
        Line(
            measures=row,
            top=index * LINE_MM,
            left=left,
            quarter_mm=room / float(shorter),
            low_midi=low,
            step_mm=step,
        )
        for index, row in enumerate(rows)
    )


def strip(score: Score, *, bars_per_line: int = BARS_A_LINE, width_mm: float = SHEET_MM, id_prefix: str) -> str:
    """A score's lead as an SVG strip.

    Hooks: ``g.note[data-note]`` (index in the lead), ``g.bar[data-bar]`` (printed number), both with something unseen
    to light (``.halo``, ``.ground``). Raises ValueError when the score has no lead or ``id_prefix`` is no id.
    """
    lead = score.part(PartRole.LEAD)
    placed = lines(score, bars_per_line=bars_per_line, width_mm=width_mm)
    body = [mark for row in placed for mark in _line(row, score, lead)]
    return figure(
        body,
        kind="strip",
        width_mm=width_mm,
        height_mm=placed[-1].top + LINE_MM - _GAP_MM + 1.5,
        title=f"{score.title}: {len(score.measures)} bars",
        desc=spoken_exercise(score),
        id_prefix=id_prefix,
    )


def _line(row: Line, score: Score, lead: Part) -> Iterator[str]:
    for measure in row.measures:
        yield _bar(row, measure, last=measure.end == score.end)
    yield from (mark.svg for mark in meter_changes(row, score))
    if not row.start:
        yield _meter(row)
    else:
        number = str(row.measures[0].number)
        yield letter(row.left - 1.6, row.plot_bottom, number, _NUMBER, Anchor.END).svg
    held = [note for note in lead.notes if note.onset < row.start < note.end]
    inside = [note for note in lead.notes if row.start <= note.onset < row.end]
    yield from ribbons([_sound(row, note, lead) for note in (*held, *inside) if not _is_dead(note)])
    yield from (mark for mark, _ in rests(row, score, lead))
    yield from (mark.svg for mark in labels(row, lead))
    for index, note in enumerate(lead.notes):
        if row.start <= note.onset < row.end:
            place = None if note.place is None else f"{note.place.string}-{note.place.fret}"
            drawn = dead_head if _is_dead(note) else head
            yield drawn(_sound(row, note, lead), data_note=index, data_place=place)


def _is_dead(note: Note) -> bool:
    return note.touch.damping is Damping.DEAD


def _meter(row: Line) -> str:
    meter, x, middle = row.measures[0].meter, row.left - _NUMBER_MM / 2, row.plot_bottom - _PLOT_MM / 2
    return group(
        "meter", *(letter(x, y, str(n), _METER).svg for y, n in ((middle, meter.upper), (middle + 4.6, meter.lower)))
    )


def _bar(row: Line, measure: Measure, *, last: bool) -> str:
    x0, x1 = row.bar_line_mm(measure.onset), row.bar_line_mm(measure.end)
    top, bottom = row.plot_bottom - _PLOT_MM, row.plot_bottom
    pen = Pen(ink=Ink.HELP, width_mm=0.3)
    marks = [rectangle(Box(x0, row.top, x1, bottom + _FOOT_MM), class_="ground"), line(x0, bottom, x1, bottom, RULE)]
    marks += [line(x1, top, x1, bottom, Pen(width_mm=1.0) if last else pen)]
    if measure.onset == row.start:
        marks.append(line(x0, top, x0, bottom, pen))
    for index in range(measure.meter.upper):
        x = row.time_mm(measure.onset + index * measure.meter.unit)
        marks.append(line(x, bottom - 1.2, x, bottom, RULE))
    marks += [name.svg for name in chord_names(row, measure)]
    return group("bar", *marks, data_bar=measure.number)


def chord_names(row: Line, measure: Measure) -> list[Lettered]:
    """The chords of a bar over their beats, none wider than it lasts."""
    return [
        letter_chord(
            row.time_mm(span.onset) - _LEAD_IN_MM + 0.8,
            row.top + 4.6,
            span.chord,
            CHORD_MM,
            float(span.duration / measure.meter.bar) * (float(measure.meter.bar) * row.quarter_mm - _LEAD_IN_MM) - 2.0,
        )
        for span in measure.chords
    ]


def meter_changes(row: Line, score: Score) -> list[Lettered]:
    """The meter under the first beat of each bar where it is another one than before."""
    pairs = [(before, bar) for before, bar in pairwise(score.measures) if bar in row.measures]
    return [
        letter(row.bar_line_mm(bar.onset) + 0.8, row.plot_bottom + 3.0, str(bar.meter), _NUMBER, Anchor.START)
        for before, bar in pairs
        if bar.meter != before.meter
    ]


def labels(row: Line, lead: Part) -> list[Lettered]:
    """Letters over the notes where motifs begin; one that would touch the letter before is left out."""
    drawn: list[Lettered] = []
    for note in lead.notes:
        if note.label and row.start <= note.onset < row.end:
            mark = letter(row.time_mm(note.onset), row.top + _CHORDS_MM + 3.6, note.label, _LABEL)
            if not drawn or not drawn[-1].box.overlaps(mark.box):
                drawn.append(mark)
    return drawn


def rests(row: Line, score: Score, lead: Part) -> Iterator[tuple[str, Lettered | None]]:
    """Brackets over every silence of a counted unit or more, at mid height on the open paper."""
    for start, end in silences(score, lead.notes):
        unit = score.measure_at(start).meter.unit
        begin, stop = max(start, row.start), min(end, row.end)
        if end - start < unit or begin >= stop:
            continue
        x0 = row.bar_line_mm(begin) + 0.4 if begin == row.start else row.end_mm(begin)
        x1 = row.bar_line_mm(stop) - 0.4 if stop in (row.end, score.end) else row.time_mm(stop) - HEAD_MM - 0.4
        yield rest_bracket(x0, x1, row.plot_bottom - _PLOT_MM / 2, rest_words(end - start, unit))


def silences(score: Score, notes: Sequence[Note]) -> list[tuple[Fraction, Fraction]]:
    """Stretches of score time in which no note sounds."""
    found, at = [], Fraction(0)
    for note in notes:
        if note.onset > at:
            found.append((at, note.onset))
        at = max(at, note.end)
    return [*found, (at, score.end)] if at < score.end else found


def _sound(row: Line, note: Note, lead: Part) -> Sound:
    """A note on this line; held into the next line it ends at the edge, held from the one before it begins there."""
    x = row.time_mm(note.onset) if note.onset >= row.start else row.bar_line_mm(row.start)
    goes_on = note.end < row.end and any(other.onset == note.end for other in lead.notes)
    end = row.time_mm(note.end) if goes_on else row.end_mm(min(note.end, row.end))
    return Sound(x_mm=x, end_mm=end, y_mm=row.pitch_mm(note.pitch.midi))
