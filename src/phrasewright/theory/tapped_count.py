"""From taps to a count: what was tapped on a key, as it would be spoken.

Each counted unit is heard by itself: as one, as halves, as quarters or as thirds, whichever lies nearest to the taps in
it for its plainness. The price of a finer division is in squared units, a choice of ours: thirds win over quarters only
where the taps lie nearer to them.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import floor

from phrasewright.theory.count import Count, parse_count
from phrasewright.theory.meter import Meter

MAX_BARS = 4
PRICES = {1: 0.0, 2: 0.001, 3: 0.002, 4: 0.0025}  # by parts of a unit
LATE = 7 / 8  # of a unit: a tap from here on belongs to the next
HELD = 0.5  # of a unit, or of the way to the next tap in it: a note that sounds so far is held on
_WORDS = {
    Fraction(1, 4): "e",
    Fraction(1, 2): "&",
    Fraction(3, 4): "a",
    Fraction(1, 3): "trip",
    Fraction(2, 3): "let",
}


def count_from_taps(onsets: Sequence[float], ends: Sequence[float], meter: Meter) -> Count:
    """The count that was tapped. onsets, ends: when the key went down and up, in quarter notes from beat 1.

    Raises ValueError without a tap, or for more than four bars.
    """
    if not onsets or len(onsets) != len(ends):
        raise ValueError("a count needs taps, each with its end")
    unit = float(meter.unit)
    taps = sorted(zip((onset / unit for onset in onsets), (end / unit for end in ends), strict=True))
    by_unit: dict[int, list[tuple[float, float]]] = {}
    for onset, end in taps:
        at = max(0, floor(onset) + (onset % 1.0 >= LATE))
        by_unit.setdefault(at, []).append((onset - at, end - at))
    last = max(by_unit)
    if last >= MAX_BARS * meter.upper:
        raise ValueError(f"a count has {MAX_BARS} bars at most")
    words: list[str] = []
    held_to = 0.0  # units from the start
    for at in range(_units(by_unit, meter)):
        if at and at % meter.upper == 0:
            words.append("|")
        parts = _parts([onset for onset, _ in by_unit.get(at, ())])
        held = at % meter.upper > 0 and held_to >= at + HELD * (float(parts[0]) if parts else 1.0)
        if parts and parts[0] > 0:
            words.append("-" if held else f"({at % meter.upper + 1})")
        elif not parts and held:
            words.append("-")
        words += [str(at % meter.upper + 1) if part == 0 else _WORDS[part] for part in parts]
        if parts:
            held_to = at + max(end for _, end in by_unit[at])
    return parse_count(" ".join(words), meter)


def _units(by_unit: dict[int, list[tuple[float, float]]], meter: Meter) -> int:
    """How many units there is something to say about: to the last tap, and as long as it is held in its bar."""
    last = max(by_unit)
    held = floor(max(end for _, end in by_unit[last]) + HELD)
    return min(last + max(1, held), (last // meter.upper + 1) * meter.upper)


def _parts(onsets: Sequence[float]) -> list[Fraction]:
    """Where in its unit each tap is meant to be, each place once; empty without taps."""
    if not onsets:
        return []
    best = min(PRICES, key=lambda parts: _price(onsets, parts))
    return sorted({_nearest(onset, best) for onset in onsets})


def _price(onsets: Sequence[float], parts: int) -> float:
    places = [_nearest(onset, parts) for onset in onsets]
    lost = len(places) - len(set(places))
    error = sum((onset - float(place)) ** 2 for onset, place in zip(onsets, places, strict=True))
    return error + PRICES[parts] + lost


def _nearest(onset: float, parts: int) -> Fraction:
    return min((Fraction(part, parts) for part in range(parts)), key=lambda place: abs(onset - float(place)))
