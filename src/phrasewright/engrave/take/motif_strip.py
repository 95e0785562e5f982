"""The motifs of a take in order: a card with its letter for each, as long as it lasted, on the open paper of the bars.

Changed motifs name their change underneath; the player's own come back in dashed frames with a number.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from phrasewright.engrave.lettering import Anchor, Face, Style, letter, width_mm
from phrasewright.engrave.palette import Ink
from phrasewright.engrave.svg import Box, Pen, circle, figure, group, line, rectangle

EDGE_MM, CARD_MM, WORDS_MM, FOOT_MM, GAP_MM = 1.0, 8.0, 4.2, 5.0, 2.0
_LINE_MM = CARD_MM + WORDS_MM + FOOT_MM + GAP_MM
_LETTER = Style(face=Face.SERIF_BOLD, size_mm=5.0)
_SMALL = Style(size_mm=3.2, ink=Ink.HELP)
_BAR = Pen(ink=Ink.HELP, width_mm=0.25)


@dataclass(frozen=True, slots=True, kw_only=True)
class MotifCard:
    """A motif in the take. from_bars, to_bars: bars since the first one shown; number: of its first note heard."""

    label: str
    change: str
    from_bars: float
    to_bars: float
    number: int
    is_own: bool = False


def motif_strip(
    cards: Sequence[MotifCard],
    bar_numbers: Sequence[int],
    *,
    width_mm: float,
    bars_per_line: int,
    id_prefix: str,
    label: str,
) -> str:
    """All bars as one SVG figure, in lines."""
    lines = range(0, len(bar_numbers), bars_per_line)
    bar_mm = (width_mm - 2 * EDGE_MM) / min(bars_per_line, max(len(bar_numbers), 1))
    body = []
    for row, start in enumerate(lines):
        numbers = bar_numbers[start : start + bars_per_line]
        body += [*_bars(numbers, row * _LINE_MM, bar_mm), *_cards(cards, start, len(numbers), row * _LINE_MM, bar_mm)]
    return figure(
        body,
        kind="motifs",
        width_mm=width_mm,
        height_mm=max(len(lines), 1) * _LINE_MM - GAP_MM,
        title=label,
        desc=", ".join(f"{card.label} {card.change}".strip() for card in cards) or "No motif was heard.",
        id_prefix=id_prefix,
    )


def _bars(numbers: Sequence[int], top: float, bar_mm: float) -> Iterator[str]:
    foot = top + CARD_MM + WORDS_MM
    yield line(EDGE_MM, foot, EDGE_MM + bar_mm * len(numbers), foot, Pen(ink=Ink.RULE, width_mm=0.25))
    for at in range(len(numbers) + 1):
        x = EDGE_MM + at * bar_mm
        yield line(x, foot - 2.0, x, foot, _BAR)
        if at < len(numbers):
            yield letter(x + 0.6, foot + 3.8, str(numbers[at]), _SMALL, Anchor.START).svg


def _cards(cards: Sequence[MotifCard], start: int, bars: int, top: float, bar_mm: float) -> Iterator[str]:
    said_until = 0.0
    for card in cards:
        if not start <= card.from_bars < start + bars:
            continue
        x0 = EDGE_MM + (card.from_bars - start) * bar_mm
        x1 = max(min(EDGE_MM + (card.to_bars - start) * bar_mm, EDGE_MM + bars * bar_mm), x0 + 4.0)
        box = Box(x0, top + 0.4, x1, top + CARD_MM)
        frame = Pen(width_mm=0.35, dash_mm=(1.0, 0.7) if card.is_own else ())
        marks = [
            rectangle(box, fill=Ink.PAPER, pen=frame, radius=0.6),
            rectangle(box, radius=0.6, class_="halo"),
            circle(x0, top + CARD_MM, 0.8, fill=Ink.INK),
            letter((x0 + x1) / 2, top + 6.0, card.label, _LETTER).svg,
        ]
        yield group("note", *marks, data_note=card.number)
        if card.change and x0 > said_until:
            yield letter(x0 + 1.0, top + CARD_MM + 3.4, card.change, _SMALL, Anchor.START).svg
            said_until = x0 + 1.0 + width_mm(card.change, _SMALL) + 1.5
