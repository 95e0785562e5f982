"""Tablature in plain text: one line a string, spacing in proportion to time, counted beats under it.

    Bar 1
      Am7
    E|-----------------|
    B|-----------------|
    G|-----------------|
    D|-----0-----------|
    A|-0-3-------------|
    E|-----------------|
       1 & 2   3   4

Frets count from the capo. How notes are played stands between and behind them: see ``tab_signs``. All bars share one
grid, the coarsest on which every onset falls; where triplets and sixteenths together would make it too wide, each bar
has its own. A bar too long for the width is folded. Every beat is numbered, so that counting goes on through silence;
``& e a trip let`` stand where notes are struck. A word that has no room is cut to its first letter.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby, pairwise
from math import ceil, gcd, lcm

from phrasewright.engrave.tab_signs import PALM, fret_sign, join_sign, legend
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.score.model import Measure, Note, Part, PartRole, Score
from phrasewright.score.notation import tab_fret
from phrasewright.score.technique import Damping
from phrasewright.theory.chord import Chord

LEAST_WIDTH = 24
WIDEST_QUARTER = 8  # signs a quarter note may take on the common grid
_INSIDE = {
    Fraction(1, 4): "e",
    Fraction(1, 2): "&",
    Fraction(3, 4): "a",
    Fraction(1, 3): "trip",
    Fraction(2, 3): "let",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    """A bar, or a part of a folded one.

    rows: string 1 first, equally long; words, chords, palms (while the palm mutes): column and text.
    """

    number: int
    rows: tuple[str, ...]
    words: tuple[tuple[int, str], ...]
    chords: tuple[tuple[int, str], ...]
    palms: tuple[tuple[int, str], ...] = ()
    continued: bool = False

    @property
    def length(self) -> int:
        return len(self.rows[0])


@dataclass(frozen=True, slots=True)
class _Grid:
    """step: quarter notes; signs: columns a step takes."""

    step: Fraction
    signs: int

    def column(self, offset: Fraction) -> int:
        """Column of a moment in its bar; one sign of string stands before the first beat."""
        return 1 + int(offset / self.step) * self.signs


def score_tab(score: Score, *, width: int = 80) -> str:
    """The lead of a score as text tablature. Raises ValueError when it has no lead, or the lead no places."""
    return text_tab(score.part(PartRole.LEAD), score.measures, width=width)


def text_tab(part: Part, measures: Sequence[Measure], *, width: int = 80) -> str:
    """Some bars of a part as text tablature, no line longer than ``width`` (24 or more).

    Raises ValueError when the part has no instrument, or a note no place, or there are no bars.
    """
    if part.instrument is None:
        raise ValueError(f"{part.name} has no instrument, so it has no strings")
    if width < LEAST_WIDTH or not measures:
        raise ValueError(f"tablature needs a bar and {LEAST_WIDTH} signs a line, got {len(measures)} and {width}")
    names = [str(pitch.name) for pitch in part.instrument.tuning]
    margin = max(map(len, names))
    notes = [_as_printed(note, part.instrument) for note in part.notes]
    joins = {note: join_sign(notes, index) for index, note in enumerate(notes)}
    bars = [[note for note in notes if bar.onset <= note.onset < bar.end] for bar in measures]
    pieces = [
        _piece(bar, within, len(names), grid, joins)
        for bar, within, grid in zip(measures, bars, _grids(bars, measures), strict=True)
    ]
    systems = _fold(pieces, width - margin - 1)
    signs = legend(part.notes)
    blocks = ["\n".join(_system(system, names, margin, width)) for system in systems]
    return "\n\n".join([*blocks, *([textwrap.fill(signs, width)] if signs else [])]) + "\n"


def _grids(bars: Sequence[Sequence[Note]], measures: Sequence[Measure]) -> list[_Grid]:
    """One grid for all bars, unless it would spread them out too far: then each bar has its own."""
    common = _grid(bars, measures)
    if common.signs / common.step <= WIDEST_QUARTER:
        return [common] * len(measures)
    return [_grid([notes], [bar]) for notes, bar in zip(bars, measures, strict=True)]


def _grid(bars: Sequence[Sequence[Note]], measures: Sequence[Measure]) -> _Grid:
    offsets = [note.onset - bar.onset for notes, bar in zip(bars, measures, strict=True) for note in notes]
    step = _common_step([*offsets, *(bar.meter.unit for bar in measures)])
    onsets = sorted({note.onset for notes in bars for note in notes})
    gaps = [after - before for before, after in pairwise(onsets)]
    closest = min([*gaps, *(bar.meter.unit for bar in measures)])
    widest = max((len(fret_sign(note)) for notes in bars for note in notes), default=1)
    number = max(len(str(bar.meter.upper)) for bar in measures)
    unit = min(bar.meter.unit for bar in measures)
    pairs = [(note, bar.end) for notes, bar in zip(bars, measures, strict=True) for note in notes]
    ends = [len(fret_sign(note)) * step / (end - note.onset) for note, end in pairs]  # room before the bar line
    signs = max(Fraction(widest + 1) / (closest / step), Fraction(number + 1) / (unit / step), *ends)
    return _Grid(step, ceil(signs))


def _common_step(times: Iterable[Fraction]) -> Fraction:
    """The greatest step of which every time is a whole multiple."""
    positive = [time for time in times if time]
    return Fraction(gcd(*(t.numerator for t in positive)), lcm(*(t.denominator for t in positive)))


def _as_printed(note: Note, instrument: Instrument) -> Note:
    """The note with its fret counted from the capo, as tablature does."""
    if note.place is None:
        raise ValueError(f"the note at {note.onset} has no place on the neck")
    return replace(note, place=StringFret(note.place.string, tab_fret(instrument, note.place)))


def _piece(bar: Measure, notes: Sequence[Note], strings: int, grid: _Grid, joins: Mapping[Note, str]) -> _Piece:
    length = grid.column(bar.meter.bar)
    rows = [["-"] * length for _ in range(strings)]
    words: dict[Fraction, str] = {index * bar.meter.unit: str(index + 1) for index in range(bar.meter.upper)}
    for note in notes:
        sign, column = fret_sign(note), grid.column(note.onset - bar.onset)
        if note.place is not None:
            row, join = rows[note.place.string - 1], joins[note]
            row[column : column + len(sign)] = sign
            row[column - len(join) : column] = join
        words.setdefault(note.onset - bar.onset, _INSIDE.get((note.onset - bar.onset) / bar.meter.unit % 1, "."))
    return _Piece(
        number=bar.number,
        rows=tuple("".join(row) + "|" for row in rows),
        words=tuple((grid.column(offset), word) for offset, word in sorted(words.items())),
        chords=tuple(
            (grid.column(Fraction(0)) + int((span.onset - bar.onset) / grid.step * grid.signs), _chord(span.chord))
            for span in bar.chords
        ),
        palms=tuple(_palms(bar, notes, grid)),
    )


def _palms(bar: Measure, notes: Sequence[Note], grid: _Grid) -> Iterator[tuple[int, str]]:
    """Runs of palm-muted notes: ``PM`` over the first, dashes up to the last."""
    for is_muted, run in groupby(notes, key=lambda note: note.touch.damping is Damping.PALM):
        columns = [grid.column(note.onset - bar.onset) for note in run]
        if is_muted:
            yield columns[0], PALM + "-" * (columns[-1] - columns[0] + 1 - len(PALM))


def _chord(chord: Chord | None) -> str:
    return "N.C." if chord is None else chord.symbol


def _fold(pieces: Sequence[_Piece], room: int) -> list[list[_Piece]]:
    """Fill lines with whole bars; only a bar longer than a line is cut."""
    systems: list[list[_Piece]] = []
    used = room + 1
    for piece in pieces:
        for part in _cut(piece, room):
            if used + part.length > room:
                systems.append([])
                used = 0
            systems[-1].append(part)
            used += part.length
    return systems


def _cut(piece: _Piece, room: int) -> Iterator[_Piece]:
    start = 0
    while piece.length - start > room:
        end = start + room
        while not all(row[end - 1] == "-" for row in piece.rows):
            end -= 1
        yield _slice(piece, start, end)
        start = end
    yield _slice(piece, start, piece.length) if start else piece


def _slice(piece: _Piece, start: int, end: int) -> _Piece:
    return _Piece(
        number=piece.number,
        rows=tuple(row[start:end] for row in piece.rows),
        words=tuple((at - start, word) for at, word in piece.words if start <= at < end),
        chords=tuple((at - start, chord) for at, chord in piece.chords if start <= at < end),
        palms=tuple((at - start, palm[: end - at]) for at, palm in piece.palms if start <= at < end),
        continued=start > 0,
    )


def _system(pieces: Sequence[_Piece], names: Sequence[str], margin: int, width: int) -> Iterator[str]:
    first, last = pieces[0].number, pieces[-1].number
    continued = " (continued)" if pieces[0].continued else ""
    yield f"Bar {first}{continued}" if first == last else f"Bars {first}{continued} to {last}"
    chords, palms, words, at = [], [], [], margin + 1
    for piece in pieces:
        chords += [(at + column, chord) for column, chord in piece.chords]
        palms += [(at + column, palm) for column, palm in piece.palms]
        words += [(at + column, word) for column, word in piece.words]
        at += piece.length
    yield from _name_lines(chords, width)
    yield from _name_lines(palms, width)
    for index, name in enumerate(names):
        yield f"{name:>{margin}}|" + "".join(piece.rows[index] for piece in pieces)
    if words:
        yield _word_line(words, width)


def _name_lines(names: Sequence[tuple[int, str]], width: int) -> list[str]:
    """Chord names over their columns; those that would touch a name before them move to a line of their own above."""
    lines: list[str] = []
    for column, name in names:
        at = max(0, min(column, width - len(name)))
        fitting = next((index for index, line in enumerate(lines) if not line or len(line) < at), len(lines))
        lines[fitting : fitting + 1] = [f"{lines[fitting] if fitting < len(lines) else '':<{at}}{name[:width]}"]
    return lines[::-1]


def _word_line(words: Sequence[tuple[int, str]], width: int) -> str:
    line = ""
    for index, (column, word) in enumerate(words):
        following = words[index + 1][0] if index + 1 < len(words) else width + 1
        line = f"{line:<{column}}{word if column + len(word) < following else word[0]}"
    return line
