"""Which motifs of the shelf were played in a take, and what was done to them.

Motifs on the shelf lie at fixed pitches and have no rhythm. A motif is sighted where its pitches follow each other
within one phrase, as they are, an octave or two away, or reversed; what needs more (both at once, one wrong note, the
shape elsewhere on the scale) must be more than chance would bring (``matches``). Of all that may be seen, the set that
explains the line best is told (``parse``).

Twice as fast: a motif whose notes follow each other in six tenths of its usual time or less. The usual time is the
lesson's, where it is given; else that of the same motif elsewhere in the take, from three times on. Six tenths lie
between a half and the two thirds of triplets, which are another count and not another pace.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from statistics import fmean, median_high

from phrasewright.listen.placed import PlacedNote
from phrasewright.listen.spot.chance import chance_in
from phrasewright.listen.spot.line import Line, line_of
from phrasewright.listen.spot.matches import Match, believed, matches
from phrasewright.listen.spot.own import own_motifs
from phrasewright.listen.spot.parse import best_parse
from phrasewright.listen.spot.variants import variants_of
from phrasewright.listen.spotted import Change, Sighting, Spotting
from phrasewright.melody.shelf import Shelf
from phrasewright.theory.count import Count

FAST = Fraction(6, 10)
FEWEST_TO_COMPARE = 3
LEAST_EXACT = 0.7  # confidence of a motif that lies there note for note


def usual_step(counts: Iterable[Count]) -> Fraction | None:
    """The middle of the times from stroke to stroke in counts, in quarter notes; None where there are none."""
    steps = [
        after.onset - before.onset
        for count in counts
        for before, after in zip(count.strokes, count.strokes[1:], strict=False)
    ]
    return median_high(steps) if steps else None


def spot_motifs(
    notes: Sequence[PlacedNote], shelf: Shelf, *, usual_step: Fraction | None = None, tuning_cents: float = 0.0
) -> Spotting:
    """The motifs of a shelf in a take, and the player's own.

    notes: by onset; usual_step: from note to note of a motif, in quarter notes; tuning_cents: of the take.
    """
    line = line_of(notes, tuning_cents)
    position = shelf.position
    chance = chance_in({note.pitch.midi % 12 for note in position.notes})
    possible = matches(line, variants_of(shelf), chance, pool=len(position.notes))
    sure = best_parse([match for match in possible if match.stands_alone], line)
    explained = len({note for match in sure for note in match.notes}) / max(len(line), 1)
    chosen = best_parse(believed(possible, explained), line)
    found = [_sighting(match, line, notes) for match in chosen]
    sightings = tuple(_with_pace(found, notes, shelf, usual_step))
    return Spotting(sightings=sightings, own=own_motifs(notes, sightings, tuning_cents=tuning_cents))


def _sighting(match: Match, line: Line, notes: Sequence[PlacedNote]) -> Sighting:
    indices = tuple(int(line.index[note]) for note in match.notes)
    changes = set(match.variant.changes)
    if match.wrong and len(match.notes) == match.last - match.first + 1:
        changes.add(Change.ONE_NOTE)
    sure = 1.0 - 2.0 ** -(1.0 + max(0.0, match.bits))
    if not match.wrong:
        sure = max(sure, LEAST_EXACT)
    return Sighting(
        letter=match.variant.letter,
        first=indices[0],
        last=indices[-1],
        notes=indices,
        changes=_ordered(changes),
        octaves=match.variant.octaves,
        confidence=sure * fmean(notes[index].note.confidence for index in indices),
    )


def _ordered(changes: Iterable[Change]) -> tuple[Change, ...]:
    given = set(changes)
    return tuple(change for change in Change if change in given)


def _with_pace(
    sightings: Sequence[Sighting], notes: Sequence[PlacedNote], shelf: Shelf, usual: Fraction | None
) -> Iterable[Sighting]:
    paces = [_pace(sighting, notes, len(shelf[sighting.letter].motif.steps)) for sighting in sightings]
    seen: dict[str, list[Fraction]] = defaultdict(list)
    for sighting, pace in zip(sightings, paces, strict=True):
        seen[sighting.letter].append(pace)
    for sighting, pace in zip(sightings, paces, strict=True):
        own = seen[sighting.letter]
        reference = usual or (median_high(own) if len(own) >= FEWEST_TO_COMPARE else None)
        if reference is not None and pace <= FAST * reference:
            yield replace(sighting, changes=_ordered({*sighting.changes, Change.TWICE_AS_FAST}))
        else:
            yield sighting


def _pace(sighting: Sighting, notes: Sequence[PlacedNote], size: int) -> Fraction:
    """From note to note as counted, in quarter notes; a note left out took its time."""
    return (notes[sighting.last].at - notes[sighting.first].at) / (size - 1)
