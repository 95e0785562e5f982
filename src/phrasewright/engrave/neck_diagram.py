"""A position drawn on the neck: lowest string at the bottom, frets at their true distances.

A disc stands for each note, with its degree (or name) written in it. A second ring marks the root of the scale;
discs are filled for tones of the chord of the moment and dashed for added notes. A long path that would not fit
the sheet is drawn on several lines, each a stretch of the neck with true proportions of its own.
``layout`` computes where everything stands, ``neck_diagram`` inks it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from math import hypot

from phrasewright.engrave.flow import Item, flow, words_item
from phrasewright.engrave.lettering import Anchor, Face, Lettered, Run, Style, chord_runs, letter
from phrasewright.engrave.lettering import width_mm as words_width_mm
from phrasewright.engrave.palette import Ink
from phrasewright.engrave.spoken import spoken_chord, spoken_position
from phrasewright.engrave.svg import Box, Pen, circle, figure, group, line, polygon, rectangle
from phrasewright.neck.instrument import Hand, Instrument, StringFret
from phrasewright.neck.place import Position, PositionNote
from phrasewright.theory.chord import Chord
from phrasewright.theory.interval import Degree

SHEET_MM = 180.0  # print width of the sheet
LEAST_MM = 50.0  # narrowest figure that may be asked for
DISC_MM, RING_MM, HALO_MM = 3.5, 4.4, 5.3  # radii
STRING_GAP_MM = 9.8
SPACE_MM = 9.9  # narrowest space of a fret whose neighbour is used too: rings and finger numbers fit side by side
ALONE_MM, BARE_MM = 7.6, 5.2  # narrowest space of a fret used alone, and of an unused one (room for its number)
LEAST_SPACES = 4  # fret spaces shown when a position uses fewer
COMFORT_MM = 14.5  # mean fret space where the sheet has room
OPEN_MM = 7.0  # from nut or capo to the middle of an open note
RUN_ON_MM = 4.5  # how far strings run on past a cut
_EDGE_MM, _HEAD_MM, _FOOT_MM, _LINE_GAP_MM = 1.5, 6.6, 9.4, 2.0
_MARKED = (3, 5, 7, 9, 12, 15, 17, 19, 21, 24, 27, 29, 31, 33, 36)
_DOUBLE = (12, 24, 36)
_NAME = Style(face=Face.SANS_BOLD)
_HELP = Style(ink=Ink.HELP)


class NeckLabels(StrEnum):
    """What is written at each note."""

    DEGREES = "degrees"
    FINGERS = "fingers"  # degree in the disc, finger number outside it
    NAMES = "names"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One line of the figure: the neck from one fret wire to another. ``zero_mm``: x of its first wire, unmirrored."""

    first_wire: int
    last_wire: int
    zero_mm: float
    top_mm: float  # y of string 1
    scale: float  # drawn mm per mm of neck


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckLayout:
    """Where the neck stands on paper, in mm; mirrored for a right hand on the frets."""

    instrument: Instrument
    stretches: tuple[Stretch, ...]
    width_mm: float
    names_mm: float  # room of the widest string name

    def wire_mm(self, stretch: Stretch, fret: int) -> float:
        """x of a fret wire (of the nut or capo: their playing edge)."""
        neck_mm = self.instrument.fret_mm(fret) - self.instrument.fret_mm(stretch.first_wire)
        return self._turn(stretch.zero_mm + stretch.scale * neck_mm)

    def space_mm(self, stretch: Stretch, fret: int) -> float:
        """x of the middle of a fret space; open notes stand outside the nut or capo."""
        if fret == self.instrument.capo:
            return self._turn(stretch.zero_mm - OPEN_MM)
        return (self.wire_mm(stretch, fret - 1) + self.wire_mm(stretch, fret)) / 2

    def string_mm(self, stretch: Stretch, string: int) -> float:
        """y of a string; the lowest string is at the bottom."""
        return stretch.top_mm + (string - 1) * STRING_GAP_MM

    def stretch_of(self, fret: int) -> Stretch:
        """The line on which a fret is drawn. Raises ValueError outside the figure."""
        for stretch in self.stretches:
            if stretch.first_wire < fret <= stretch.last_wire:
                return stretch
        if fret == self.instrument.capo == self.stretches[0].first_wire:
            return self.stretches[0]
        raise ValueError(f"fret {fret} is not in the figure")

    def centre(self, place: StringFret) -> tuple[float, float]:
        """Where a note's disc stands."""
        stretch = self.stretch_of(place.fret)
        return self.space_mm(stretch, place.fret), self.string_mm(stretch, place.string)

    @property
    def outward(self) -> int:
        """Direction of x towards the body: 1, or -1 when mirrored."""
        return -1 if self.instrument.fretting_hand is Hand.RIGHT else 1

    def bottom_mm(self, stretch: Stretch) -> float:
        """y of the lowest string."""
        return self.string_mm(stretch, len(self.instrument.tuning))

    def _turn(self, x: float) -> float:
        return self.width_mm - x if self.outward < 0 else x


def layout(position: Position, *, max_width_mm: float = SHEET_MM, least_spaces: int = LEAST_SPACES) -> NeckLayout:
    """Choose the stretch of neck to draw and its size. max_width_mm: at least 50; least_spaces: frets shown."""
    if max_width_mm < LEAST_MM:
        raise ValueError(f"a neck needs at least {LEAST_MM:g} mm, got {max_width_mm}")
    instrument = position.instrument
    first, last = _window(position, least_spaces)
    names = max(words_width_mm(pitch.name.printed, _NAME) for pitch in instrument.tuning)
    has_open = any(note.place.fret == instrument.capo for note in position.notes)
    at_nut = _EDGE_MM + names + (OPEN_MM + RING_MM + 0.8 if has_open else 3.0)
    cut = _EDGE_MM + names + 1.5 + RUN_ON_MM
    stretches: list[Stretch] = []
    top, width = _HEAD_MM, 0.0
    room_at_cut = max_width_mm - max(at_nut, cut) - RUN_ON_MM - _EDGE_MM
    for start, end in _cut_in_lines(position, first, last, room_at_cut):
        zero = at_nut if start == instrument.capo else cut
        comfortable = min(COMFORT_MM * (end - start), room_at_cut) / instrument.stretch_mm(start, end)
        scale = max(comfortable, _smallest_scale(position, start, end))
        stretches.append(Stretch(first_wire=start, last_wire=end, zero_mm=zero, top_mm=top, scale=scale))
        width = max(width, zero + scale * instrument.stretch_mm(start, end) + RUN_ON_MM + _EDGE_MM)
        top += (len(instrument.tuning) - 1) * STRING_GAP_MM + _FOOT_MM + _LINE_GAP_MM + _HEAD_MM
    return NeckLayout(instrument=instrument, stretches=tuple(stretches), width_mm=width, names_mm=names)


def neck_diagram(
    position: Position,
    *,
    labels: NeckLabels = NeckLabels.DEGREES,
    chord: Chord | None = None,
    id_prefix: str,
    max_width_mm: float = SHEET_MM,
    least_spaces: int = LEAST_SPACES,
) -> str:
    """A position as an SVG figure. chord: its tones are filled; least_spaces: frets shown, also unused ones.

    Class hooks: every note is a ``g.place`` with ``data-place="string-fret"`` and an unseen ``.halo`` to light.
    Raises ValueError when ``id_prefix`` cannot begin an id.
    """
    where = layout(position, max_width_mm=max_width_mm, least_spaces=least_spaces)
    taken = [where.centre(note.place) for note in position.notes]
    body = [mark for stretch in where.stretches for mark in _neck(where, stretch, taken)]
    body += [_place(where, note, labels, chord, position, id_prefix) for note in position.notes]
    bottom = where.bottom_mm(where.stretches[-1]) + _FOOT_MM
    legend, height = flow(_legend(position, labels, chord), left=_EDGE_MM, top=bottom, right=where.width_mm - _EDGE_MM)
    return figure(
        [*body, group("legend", *legend)],
        kind="neck",
        width_mm=where.width_mm,
        height_mm=height + 1.0,
        title=f"{position.name}, {labels}{'' if chord is None else f', tones of {spoken_chord(chord)} filled'}",
        desc=_description(position, chord),
        id_prefix=id_prefix,
    )


def _window(position: Position, least_spaces: int) -> tuple[int, int]:
    """First and last fret wire to show."""
    instrument = position.instrument
    shows_nut = position.lowest_fret <= instrument.capo + 2
    first = instrument.capo if shows_nut else position.lowest_fret - 1
    last = min(max(position.highest_fret, first + least_spaces), instrument.frets)
    return min(first, last - least_spaces), last


def _cut_in_lines(position: Position, first: int, last: int, room: float) -> list[tuple[int, int]]:
    """Cut a window into as few stretches as fit ``room``, about equally long."""
    needs = {
        (start, end): _smallest_scale(position, start, end) * position.instrument.stretch_mm(start, end)
        for start in range(first, last)
        for end in range(start + 1, last + 1)
    }

    def cut(limit: float) -> list[tuple[int, int]]:
        lines, start = [], first
        while start < last:
            end = max((e for e in range(start + 1, last + 1) if needs[start, e] <= limit), default=start + 1)
            lines.append((start, end))
            start = end
        return lines

    lines = cut(room)
    if len(lines) == 1:
        return lines
    limits = sorted(need for need in needs.values() if need <= room)
    return cut(limits[bisect_left(limits, -len(lines), key=lambda limit: -len(cut(limit)))])


def _smallest_scale(position: Position, start: int, end: int) -> float:
    """The scale at which every fret space between two wires has the room its notes need."""
    used = {note.place.fret for note in position.notes}

    def need_mm(fret: int) -> float:
        if fret not in used:
            return BARE_MM
        return SPACE_MM if used & {fret - 1, fret + 1} else ALONE_MM

    instrument = position.instrument
    return max(need_mm(fret) / instrument.stretch_mm(fret - 1, fret) for fret in range(start + 1, end + 1))


def _neck(where: NeckLayout, stretch: Stretch, taken: list[tuple[float, float]]) -> Iterator[str]:
    instrument = where.instrument
    top, bottom = stretch.top_mm, where.bottom_mm(stretch)
    yield from _marks(where, stretch, taken)
    for wire in range(stretch.first_wire, stretch.last_wire + 1):
        x = where.wire_mm(stretch, wire)
        if wire > instrument.capo:
            yield line(x, top, x, bottom, Pen(ink=Ink.HELP, width_mm=0.4), "fret")
    yield from _strings(where, stretch)
    if stretch.first_wire == instrument.capo:
        yield _nut(where, stretch)
    for fret in range(stretch.first_wire + 1, stretch.last_wire + 1):
        x = where.space_mm(stretch, fret)
        yield letter(x, bottom + 7.5, str(fret), _HELP).svg


def _marks(where: NeckLayout, stretch: Stretch, taken: list[tuple[float, float]]) -> Iterator[str]:
    """Pale diamonds where players look for them, left out where a disc would hide one half."""
    middle = (stretch.top_mm + where.bottom_mm(stretch)) / 2
    aside = 1.0 if len(where.instrument.tuning) % 2 == 0 else 1.5 if len(where.instrument.tuning) > 3 else 0.5
    for fret in _MARKED:
        if not stretch.first_wire < fret <= stretch.last_wire:
            continue
        x = where.space_mm(stretch, fret)
        for gaps in (-aside, aside) if fret in _DOUBLE else (0.0,):
            y, half = middle + gaps * STRING_GAP_MM, 1.1
            if all(hypot(x - at[0], y - at[1]) > RING_MM + half for at in taken):
                yield polygon(((x - half, y), (x, y - half), (x + half, y), (x, y + half)), Ink.RULE, "mark")


def _strings(where: NeckLayout, stretch: Stretch) -> Iterator[str]:
    instrument, out = where.instrument, where.outward
    start = where.wire_mm(stretch, stretch.first_wire)
    end = where.wire_mm(stretch, stretch.last_wire) + out * RUN_ON_MM
    edge = where.width_mm - _EDGE_MM if out < 0 else _EDGE_MM
    for string in instrument.strings:
        y, pitch = where.string_mm(stretch, string), instrument.tuning[string - 1]
        pen = Pen(width_mm=_gauge_mm(pitch.midi))
        if stretch.first_wire == instrument.capo:
            yield line(edge + out * (where.names_mm + 0.8), y, start, y, Pen(ink=Ink.RULE, width_mm=pen.width_mm))
            yield line(start, y, end, y, pen, "string")
        else:
            yield line(start - out * RUN_ON_MM, y, end, y, pen, "string")
        yield letter(edge, y + 1.15, pitch.name.printed, _NAME, Anchor.END if out < 0 else Anchor.START).svg


def _gauge_mm(pitch_midi: int) -> float:
    """Ink width of a string: low strings are thick."""
    return 0.22 + 0.55 * min(max((70 - pitch_midi) / 42.0, 0.0), 1.0)


def _nut(where: NeckLayout, stretch: Stretch) -> str:
    x = where.wire_mm(stretch, stretch.first_wire)
    top, bottom = stretch.top_mm, where.bottom_mm(stretch)
    if not where.instrument.capo:
        bar = sorted((x, x - where.outward * 1.3))
        return rectangle(Box(bar[0], top - 0.4, bar[1], bottom + 0.4), fill=Ink.INK, class_="nut")
    bar = sorted((x + where.outward * 0.4, x - where.outward * 2.2))
    box = Box(bar[0], top - 2.6, bar[1], bottom + 2.6)
    return rectangle(box, fill=Ink.PAPER, pen=Pen(width_mm=0.6), radius=1.3, class_="capo")


def label_of(note: PositionNote, labels: NeckLabels) -> str:
    """What is written in a note's disc."""
    return note.pitch.name.printed if labels is NeckLabels.NAMES else note.degree.printed


def finger_label(where: NeckLayout, note: PositionNote) -> Lettered:
    """The finger number, outside the disc towards the body and up."""
    x, y = where.centre(note.place)
    return letter(x + where.outward * 4.7, y - 3.3, str(note.finger), Style(ink=Ink.HELP, face=Face.SANS_BOLD))


def _place(
    where: NeckLayout,
    note: PositionNote,
    labels: NeckLabels,
    chord: Chord | None,
    position: Position,
    id_prefix: str,
) -> str:
    x, y = where.centre(note.place)
    root = note.degree == Degree(1)
    filled = chord is not None and note.pitch.name.pitch_class in chord.pitch_classes
    hooks = ["place", "root" if root else "", "chord-tone" if filled else "", "added" if note.added else ""]
    marks = [circle(x, y, HALO_MM, class_="halo"), *_disc(x, y, root=root, filled=filled, added=note.added)]
    ink = Ink.PAPER if filled else Ink.INK
    marks.append(_in_disc(x, y, label_of(note, labels), Style(ink=ink, face=Face.SANS_BOLD)))
    if labels is NeckLabels.FINGERS and note.finger:
        marks.append(group("finger", finger_label(where, note).svg))
    return group(
        " ".join(filter(None, hooks)),
        *marks,
        id=f"{id_prefix}-s{note.place.string}f{note.place.fret}",
        data_place=f"{note.place.string}-{note.place.fret}",
        data_label=label_of(note, labels),
        data_step=position.notes.index(note),
    )


def _in_disc(x: float, y: float, label: str, style: Style) -> str:
    return letter(x, y + 0.36 * style.size_mm, label, style).svg


def _disc(x: float, y: float, *, root: bool, filled: bool, added: bool, size: float = 1.0) -> Iterator[str]:
    edge = Pen(width_mm=0.4 * size, dash_mm=(1.1 * size, 0.73 * size) if added else ())
    if root:
        yield circle(x, y, RING_MM * size, fill=Ink.PAPER, pen=Pen(width_mm=0.35 * size), class_="ring")
    yield circle(x, y, DISC_MM * size, fill=Ink.PAPER, pen=edge, class_="disc")
    if filled:
        inner = DISC_MM - 0.65 if added else DISC_MM
        yield circle(x, y, inner * size, fill=Ink.INK, class_="fill")


def _legend(position: Position, labels: NeckLabels, chord: Chord | None) -> list[Item]:
    items = [_legend_disc("root", root=True)]
    if chord is not None:
        items.append(_legend_disc("in ", *chord_runs(chord, 3.9), filled=True))
    if any(note.added for note in position.notes):
        items.append(_legend_disc("added", added=True))
    if labels is NeckLabels.FINGERS:
        items.append(words_item(Run("1–4", Style(ink=Ink.HELP, face=Face.SANS_BOLD)), Run(" finger", _HELP)))
    if position.instrument.capo:
        items.append(words_item(Run(f"capo at fret {position.instrument.capo}", _HELP)))
    return items


def _legend_disc(words: str, *more: Run, root: bool = False, filled: bool = False, added: bool = False) -> Item:
    def draw(x: float, y: float) -> str:
        return "".join(_disc(x, y, root=root, filled=filled, added=added, size=0.42))

    return Item(2 * RING_MM * 0.42 + 1.2, draw, (Run(words, _HELP), *more))


def _description(position: Position, chord: Chord | None) -> str:
    count = len(position.notes)
    tones = ""
    if chord is not None:
        inside = [note for note in position.notes if note.pitch.name.pitch_class in chord.pitch_classes]
        tones = f" {len(inside)} of them are tones of {spoken_chord(chord)} and are filled."
    side = "right" if position.instrument.fretting_hand is Hand.RIGHT else "left"
    return (
        f"The neck of {position.instrument.name}, lowest string at the bottom, nut towards the {side}. "
        f"{count} notes.{tones} {spoken_position(position)}"
    )
