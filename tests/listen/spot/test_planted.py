"""Motifs planted in 300 made solos are spotted, and nothing else.

Protocol. A shelf has up to eight motifs, random walks of two to five notes through a box of one of six scales. A solo
has 30 to 40 pieces, half of them motifs, half filler (walks of three to eight notes through the same box); three
pieces in five begin after a silence, the others go on without one. A motif is planted as it is, an octave away,
reversed, twice as fast, or with one note altered (a scale note at most four semitones away; motifs of three and four
notes only as phrases of their own, and never where a motif of another letter is one note away as well). Neither
filler nor a seam holds any motif of the shelf note for note: as it is, reversed (three notes and more), or either of
these one or two octaves away. Filler may hold anything else, as one note altered or the same shape elsewhere. Then
two notes in a hundred go wrong (half of these another pitch, a quarter left out, a quarter followed by a note too
many), and all onsets slip by 20 ms.

A sighting is right when it has the letter of a planted motif and half of its notes at least, each planted motif
counting once; every other sighting is false, every planted motif without one is missed, also where its notes were
spoilt.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

import pytest
from played import Planted, Solo, random_solo

from phrasewright.listen.spot.motifs import spot_motifs
from phrasewright.listen.spotted import Sighting

SOLOS = 300
FIRST_SEED = 910_000


def right_ones(solo: Solo, sightings: Sequence[Sighting]) -> list[tuple[Planted, Sighting]]:
    """Planted motifs with what was seen of them."""
    found: list[tuple[Planted, Sighting]] = []
    free = list(sightings)
    for planted in solo.planted:
        for sighting in free:
            shared = {solo.names[index] for index in sighting.notes} & planted.notes
            if sighting.letter == planted.letter and 2 * len(shared) >= len(planted.notes):
                found.append((planted, sighting))
                free.remove(sighting)
                break
    return found


@pytest.fixture(scope="module")
def seen() -> list[tuple[Solo, tuple[Sighting, ...]]]:
    solos = [random_solo(Random(FIRST_SEED + number)) for number in range(SOLOS)]
    return [(solo, spot_motifs(solo.notes, solo.shelf, usual_step=solo.step).sightings) for solo in solos]


def test_planted_motifs_are_spotted(seen: list[tuple[Solo, tuple[Sighting, ...]]]) -> None:
    """Precision and recall of 0.95 at least."""
    right = sum(len(right_ones(solo, sightings)) for solo, sightings in seen)
    planted, sighted = sum(len(solo.planted) for solo, _ in seen), sum(len(sightings) for _, sightings in seen)
    assert planted > 10 * SOLOS
    assert right / sighted >= 0.95, f"{sighted - right} of {sighted} sightings are false"
    assert right / planted >= 0.95, f"{planted - right} of {planted} planted motifs are missed"


def test_what_was_done_to_them_is_told(seen: list[tuple[Solo, tuple[Sighting, ...]]]) -> None:
    """Of motifs that are sighted, 0.95 have just the changes they were planted with."""
    pairs = [pair for solo, sightings in seen for pair in right_ones(solo, sightings)]
    same = sum(set(sighting.changes) == planted.changes for planted, sighting in pairs)
    assert same / len(pairs) >= 0.95
    every = {change for planted, _ in pairs for change in planted.changes}
    assert len(every) == 4  # octave, reversed, twice as fast, one note
