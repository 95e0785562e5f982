"""A motif on a small card: its line over the notes, degrees, count, and the open width of its rest.

With a count, x is time and drawn to scale, the silence too; without one the notes stand evenly. The letter stands at
the top, the places on the neck at the foot: a ringed string number, then the frets played on that string.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby, pairwise

from phrasewright.engrave.contour import Sound, head, rest_bracket, rest_words, ribbons
from phrasewright.engrave.flow import Item, flow
from phrasewright.engrave.lettering import Anchor, Face, Lettered, Run, Style, chord_runs, letter, width_mm
from phrasewright.engrave.palette import Ink
from phrasewright.engrave.spoken import spoken_chord, spoken_motif, spoken_number
from phrasewright.engrave.svg import RULE, Box, Pen, circle, figure, group, line, polygon, rectangle
from phrasewright.melody.motif import Motif
from phrasewright.neck.instrument import StringFret
from phrasewright.theory.chord import Chord
from phrasewright.theory.count import Count

QUARTER_MM = 8.5  # least room for a quarter note, so that silence shows
EVEN_MM = 9.0  # between notes without rhythm
MIN_WIDTH_MM = 46.0
TOP_GRADE = 3
_PAD_MM, _HEAD_MM, _PLOT_MM = 4.5, 11.0, 15.0
_WORD_GAP_MM = 1.3
_DEGREE = Style(face=Face.SANS_BOLD)
_COUNT = Style(face=Face.SERIF_ITALIC, size_mm=3.6)
_HELP = Style(ink=Ink.HELP)
_LETTER = Style(face=Face.SERIF_BOLD, size_mm=7.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """How a motif sits on a chord: 0 (against it) to ``TOP_GRADE`` (at home)."""

    chord: Chord
    marks: int

    def __post_init__(self) -> None:
        if not 0 <= self.marks <= TOP_GRADE:
            raise ValueError(f"a grade lies in 0..{TOP_GRADE}, got {self.marks}")


@dataclass(frozen=True, slots=True, kw_only=True)
class CardLayout:
    """Where things stand on a card, in mm."""

    sounds: tuple[Sound, ...]
    plot_left: float
    plot_right: float
    quarter_mm: float
    width_mm: float


def needed_quarter_mm(motif: Motif, count: Count) -> float:
    """The least width of a quarter note at which degrees and count words do not touch."""
    needs = [QUARTER_MM]
    for first, second in pairwise(zip(motif.notes, count.strokes, strict=True)):
        half_widths = [
            (width_mm(a, style) + width_mm(b, style)) / 2
            for a, b, style in (
                (first[0].degree.printed, second[0].degree.printed, _DEGREE),
                (first[1].word, second[1].word, _COUNT),
            )
        ]
        needs.append((max(*half_widths) + _WORD_GAP_MM) / float(second[1].onset - first[1].onset))
    return max(needs)


def card_layout(motif: Motif, count: Count | None = None, *, quarter_mm: float | None = None) -> CardLayout:
    """Place the notes. quarter_mm: one width for a row of cards, at least what each needs.

    Raises ValueError when the count has another number of strokes than the motif has notes.
    """
    if count is not None and len(count.strokes) != len(motif.notes):
        raise ValueError(f"{len(count.strokes)} strokes cannot carry {len(motif.notes)} notes")
    left = _PAD_MM + 2.2
    if count is None:
        spans = [(left + index * EVEN_MM, left + (index + 1) * EVEN_MM) for index in range(len(motif.notes))]
        quarter, right = EVEN_MM, spans[-1][1]
        spans[-1] = (spans[-1][0], spans[-1][0])
    else:
        quarter = max(needed_quarter_mm(motif, count), quarter_mm or 0.0)
        spans = [
            (left + float(stroke.onset) * quarter, left + float(stroke.onset + stroke.duration) * quarter)
            for stroke in count.strokes
        ]
        right = left + float(count.length) * quarter
    heights = _heights(motif)
    sounds = tuple(Sound(x_mm=x, end_mm=end, y_mm=y) for (x, end), y in zip(spans, heights, strict=True))
    width = max(right + _PAD_MM, MIN_WIDTH_MM)
    return CardLayout(sounds=sounds, plot_left=left, plot_right=right, quarter_mm=quarter, width_mm=width)


def motif_card(
    motif: Motif,
    letter_name: str,
    count: Count | None = None,
    *,
    grades: Sequence[Grade] = (),
    quarter_mm: float | None = None,
    id_prefix: str,
) -> str:
    """A motif as an SVG card. Notes carry ``data-note`` (0 first) and ``data-place``.

    Raises ValueError when count and motif differ in length, or ``id_prefix`` cannot begin an id.
    """
    where = card_layout(motif, count, quarter_mm=quarter_mm)
    body = [letter(_PAD_MM, 9.2, letter_name, _LETTER, Anchor.START).svg]
    body.append(letter(where.width_mm - _PAD_MM, 8.2, motif.contour.value, _HELP, Anchor.END).svg)
    body += ribbons(where.sounds)
    base = _HEAD_MM + _PLOT_MM
    if count is not None:
        body += _ruler(where, count, base)
        body += _rests(where, count)
    for index, (note, sound) in enumerate(zip(motif.notes, where.sounds, strict=True)):
        body.append(head(sound, data_note=index, data_place=_hook(note.place)))
    body += [drawn.svg for drawn in card_words(motif, count, where)]
    top = base + (12.4 if count is not None else 6.6)
    places, top = flow(_places(motif), left=_PAD_MM, top=top, right=where.width_mm - _PAD_MM)
    marks, top = flow([_grade(grade) for grade in grades], left=_PAD_MM, top=top, right=where.width_mm - _PAD_MM)
    height = top + 2.4
    return figure(
        [_sheet(where.width_mm, height), *body, group("places", *places), group("grades", *marks)],
        kind="motif-card",
        width_mm=where.width_mm,
        height_mm=height,
        title=f"Motif {letter_name}: {motif.degrees_text}",
        desc=" ".join([spoken_motif(motif, letter_name, count), *map(_spoken_grade, grades)]),
        id_prefix=id_prefix,
    )


def card_words(motif: Motif, count: Count | None, where: CardLayout) -> list[Lettered]:
    """Degrees, and under them the count, each under its note."""
    base = _HEAD_MM + _PLOT_MM
    words = []
    for index, (note, sound) in enumerate(zip(motif.notes, where.sounds, strict=True)):
        words.append(letter(sound.x_mm, base + 5.4, note.degree.printed, _DEGREE))
        if count is not None:
            words.append(letter(sound.x_mm, base + 10.6, count.strokes[index].word, _COUNT))
    return words


def _heights(motif: Motif) -> list[float]:
    """y of each note: semitones to scale, never taller than the plot, centred in it."""
    pitches = [note.pitch.midi for note in motif.notes]
    low, high = min(pitches), max(pitches)
    step = min(1.3, (_PLOT_MM - 6.0) / max(high - low, 1))
    middle = _HEAD_MM + _PLOT_MM / 2
    return [middle - (pitch - (low + high) / 2) * step for pitch in pitches]


def _sheet(width: float, height: float) -> str:
    """The card's edge with a folded corner."""
    fold = 4.0
    edge = rectangle(Box(0.3, 0.3, width - 0.3, height - 0.3), fill=Ink.PAPER, pen=RULE, radius=0.8)
    corner = polygon(((width - fold, 0.3), (width - 0.3, fold), (width - fold, fold)), Ink.RULE)
    return group("sheet", edge, corner)


def _ruler(where: CardLayout, count: Count, y: float) -> list[str]:
    """The bar as a ruler of counted units; bar lines taller."""
    marks = [line(where.plot_left, y, where.plot_right, y, RULE)]
    units = int(count.length / count.meter.unit)
    for index in range(units + 1):
        at = index * count.meter.unit
        x = where.plot_left + float(at) * where.quarter_mm
        tall = at % count.meter.bar == 0
        marks.append(line(x, y - (3.0 if tall else 1.2), x, y, Pen(ink=Ink.HELP if tall else Ink.RULE, width_mm=0.3)))
    return marks


def _rests(where: CardLayout, count: Count) -> list[str]:
    """A bracket over every silence of a unit or more."""
    ends = [Fraction(0), *(stroke.onset + stroke.duration for stroke in count.strokes)]
    starts = [*(stroke.onset for stroke in count.strokes), count.length]
    marks = []
    for end, start in zip(ends, starts, strict=True):
        if start - end >= count.meter.unit:
            x0, x1 = (where.plot_left + float(time) * where.quarter_mm for time in (end, start))
            inset = 0.0 if start == count.length else 1.4
            words = rest_words(start - end, count.meter.unit)
            marks.append(rest_bracket(x0, x1 - inset, _HEAD_MM + _PLOT_MM / 2, words)[0])
    return marks


def _hook(place: StringFret) -> str:
    return f"{place.string}-{place.fret}"


def _places(motif: Motif) -> list[Item]:
    items = []
    for string, notes in groupby(motif.notes, key=lambda note: note.place.string):
        frets = "\xa0\xa0".join(str(note.place.fret) for note in notes)
        items.append(_ringed(string, Run(frets, _HELP)))
    return items


def _ringed(string: int, words: Run) -> Item:
    def draw(x: float, y: float) -> str:
        ring = circle(x, y, 2.25, pen=Pen(ink=Ink.HELP, width_mm=0.25))
        return ring + letter(x, y + 1.15, str(string), _HELP).svg

    return Item(5.6, draw, (words,))


def _grade(grade: Grade) -> Item:
    def draw(x: float, y: float) -> str:
        dots = []
        for index in range(TOP_GRADE):
            fill = Ink.INK if index < grade.marks else None
            dots.append(circle(x + (index - 1) * 2.3, y, 0.8, fill=fill, pen=Pen(width_mm=0.25)))
        return group("grade", *dots, data_grade=grade.marks)

    return Item(8.0, draw, chord_runs(grade.chord, 3.8))


def _spoken_grade(grade: Grade) -> str:
    return f"Over {spoken_chord(grade.chord)}: {spoken_number(grade.marks)} of {spoken_number(TOP_GRADE)}."
