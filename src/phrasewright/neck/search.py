"""Find positions: lay the hand where a request wants it, or refuse and name the nearest that can be played.

All styles come from search over hand placements (``candidate``); no shape is written down anywhere. Every function
raises NeckError, with alternatives in words, when the wish cannot be met.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from phrasewright.errors import NeckError
from phrasewright.neck.candidate import Candidate, candidates
from phrasewright.neck.finish import with_added, without
from phrasewright.neck.instrument import Instrument
from phrasewright.neck.place import Position, PositionStyle, count_word
from phrasewright.neck.request import PositionRequest
from phrasewright.theory.scale import Scale

NEAR_FRETS = 2  # a position this far from the wished fret still answers the wish
_OFFERED = 3  # alternatives named in a refusal


def find_position(scale: Scale, instrument: Instrument, request: PositionRequest) -> Position:
    """The position that meets a request: nearest to its fret, easiest of equals. Raises NeckError."""
    found = candidates(scale, instrument, request)
    chosen = _choose(scale, instrument, request, found)
    whole = with_added(chosen.position(), chosen.hands, above=request.added_above, below=request.added_below)
    return without(whole, request.left_out) if request.left_out else whole


def open_position(
    scale: Scale,
    instrument: Instrument,
    *,
    lowest_string: int | None = None,
    highest_string: int | None = None,
    max_stretch_mm: float | None = None,
) -> Position:
    """Open strings (at the capo when there is one) and the first frets, from ``lowest_string`` up."""
    request = PositionRequest(
        style=PositionStyle.OPEN,
        lowest_string=lowest_string,
        highest_string=highest_string,
        max_stretch_mm=max_stretch_mm,
    )
    return find_position(scale, instrument, request)


def box(
    scale: Scale,
    instrument: Instrument,
    *,
    near_fret: int | None = None,
    lowest_string: int | None = None,
    highest_string: int | None = None,
    max_stretch_mm: float | None = None,
) -> Position:
    """The movable box nearest to a fret; without one, the easiest that begins on the root."""
    request = PositionRequest(
        style=PositionStyle.BOX,
        fret=near_fret,
        lowest_string=lowest_string,
        highest_string=highest_string,
        max_stretch_mm=max_stretch_mm,
    )
    return find_position(scale, instrument, request)


def three_per_string(
    scale: Scale,
    instrument: Instrument,
    *,
    near_fret: int | None = None,
    notes_per_string: int = 3,
    lowest_string: int | None = None,
    highest_string: int | None = None,
    max_stretch_mm: float | None = None,
) -> Position:
    """Three (or two, or four) notes on every string, beginning nearest to a fret of the lowest string."""
    request = PositionRequest(
        style=PositionStyle.THREE_PER_STRING,
        fret=near_fret,
        notes_per_string=notes_per_string,
        lowest_string=lowest_string,
        highest_string=highest_string,
        max_stretch_mm=max_stretch_mm,
    )
    return find_position(scale, instrument, request)


def one_string(
    scale: Scale,
    instrument: Instrument,
    string: int,
    *,
    near_fret: int | None = None,
    max_stretch_mm: float | None = None,
) -> Position:
    """An octave along one string, beginning nearest to a fret (the open string when not given)."""
    request = PositionRequest(
        style=PositionStyle.ONE_STRING, string=string, fret=near_fret, max_stretch_mm=max_stretch_mm
    )
    return find_position(scale, instrument, request)


def all_boxes(scale: Scale, instrument: Instrument, *, max_stretch_mm: float | None = None) -> tuple[Position, ...]:
    """The distinct movable boxes, each where it first fits the hand, by fret: five for a pentatonic on a guitar."""
    request = PositionRequest(style=PositionStyle.BOX, max_stretch_mm=max_stretch_mm)
    found: dict[object, Candidate] = {}
    for one in _playable(instrument, request, candidates(scale, instrument, request)):
        first = one.places[0].fret
        shape = (
            instrument.midi_at(one.places[0]) % 12,
            tuple((place.string, place.fret - first) for place in one.places),
        )
        found.setdefault(shape, one)
    return tuple(one.position() for one in found.values())


def _choose(scale: Scale, instrument: Instrument, request: PositionRequest, found: Sequence[Candidate]) -> Candidate:
    if request.style is PositionStyle.OPEN and request.fret not in (None, 0, instrument.capo):
        moved = replace(request, style=PositionStyle.BOX)
        raise NeckError(
            f"An open position lies at the {'capo' if instrument.capo else 'nut'}; "
            f"it cannot be moved to fret {request.fret}.",
            alternatives=_offers(scale, instrument, moved),
        )
    if request.fret is not None and request.fret > instrument.frets:
        raise NeckError(
            f"There is no fret {request.fret} on {instrument.name}: the last is {instrument.frets}.",
            alternatives=_offers(scale, instrument, request),
        )
    near = [one for one in found if request.fret is None or one.distance(request.fret) <= NEAR_FRETS]
    if not near:
        raise NeckError(
            f"{_wish(scale, request)}: no placement of the hand reaches every tone there on {instrument.name}.",
            alternatives=_offers(scale, instrument, request),
        )
    playable = _playable(instrument, request, near)
    nearest = _nearest(near, request)
    chosen = _nearest(playable, request) if playable else None
    if chosen is None or (request.fret is not None and chosen.distance(request.fret) > nearest.distance(request.fret)):
        raise _too_wide(scale, instrument, request, nearest)
    return chosen


def _nearest(found: Sequence[Candidate], request: PositionRequest) -> Candidate:
    if request.fret is not None:
        wished = request.fret
        return min(found, key=lambda one: (one.distance(wished), one.called[0] != wished, one.effort, one.called))
    if request.style is PositionStyle.ONE_STRING:
        return found[0]
    return min(found, key=lambda one: (not one.starts_on_root, one.effort, one.called))


def _playable(instrument: Instrument, request: PositionRequest, found: Sequence[Candidate]) -> list[Candidate]:
    limit_mm = request.stretch_limit_mm(instrument)
    return [one for one in found if one.stretch_mm <= limit_mm]


def _too_wide(scale: Scale, instrument: Instrument, request: PositionRequest, one: Candidate) -> NeckError:
    low, high = one.grasp
    return NeckError(
        f"{_wish(scale, request)}: one grasp would reach from fret {low} to {high}, {one.stretch_mm:.0f} mm on "
        f"{instrument.name}, and the hand's limit is {request.stretch_limit_mm(instrument):.0f} mm.",
        alternatives=_offers(scale, instrument, request),
    )


def _offers(scale: Scale, instrument: Instrument, request: PositionRequest) -> tuple[str, ...]:
    """Playable wishes in words: the nearest of the same style, then one of each other style."""
    wished = request.fret if request.fret is not None else instrument.capo
    same = _playable(instrument, request, candidates(scale, instrument, request))
    same.sort(key=lambda one: (one.distance(wished), one.effort, one.called))
    offers = list(dict.fromkeys(one.where for one in same))[:_OFFERED]
    if request.style is PositionStyle.OPEN:
        offers.extend(_open_on_fewer_strings(scale, instrument, request))
    for style in PositionStyle:
        if style is not request.style and len(offers) < _OFFERED:
            other = replace(request, style=style)
            found = _playable(instrument, other, candidates(scale, instrument, other))
            if found:
                offers.append(min(found, key=lambda one: (one.distance(wished), one.effort)).where)
    return tuple(offers)


def _open_on_fewer_strings(scale: Scale, instrument: Instrument, request: PositionRequest) -> list[str]:
    """The open position that leaves out fewest of the lowest strings, as a wish in words; none when all fail."""
    lowest = len(instrument.tuning) if request.lowest_string is None else request.lowest_string
    for string in range(lowest - 1, (request.highest_string or 1) + 1, -1):
        fewer = replace(request, lowest_string=string)
        if _playable(instrument, fewer, candidates(scale, instrument, fewer)):
            return [f"open position, string {string} up"]
    return []


def _wish(scale: Scale, request: PositionRequest) -> str:
    at = "" if request.fret is None else f" at fret {request.fret}"
    style = {
        PositionStyle.OPEN: "open position",
        PositionStyle.BOX: "box",
        PositionStyle.THREE_PER_STRING: f"{count_word(request.notes_per_string)} notes per string",
        PositionStyle.ONE_STRING: "along one string",
    }[request.style]
    return f"{scale.name}, {style}{at}"
