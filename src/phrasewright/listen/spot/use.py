"""How a player used the shelf: which motifs, how much of the line, in what order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from math import log2

from phrasewright.listen.spotted import Change, Sighting


@dataclass(frozen=True, slots=True, kw_only=True)
class MotifUse:
    """Facts about the sightings of a take. shelf: its letters in order; order: letters as played.

    notes_share: of the notes of the take that lie in a sighting, 0..1; changed_share: of the sightings that were
    changed on purpose or by a slip. Shares are 0 where there is nothing to share.
    """

    shelf: tuple[str, ...]
    order: tuple[str, ...]
    notes_share: float
    changed_share: float
    changes: tuple[tuple[Change, int], ...]

    @property
    def times(self) -> dict[str, int]:
        """How often each letter of the shelf was played, also those that were not."""
        heard = Counter(self.order)
        return {letter: heard[letter] for letter in self.shelf}

    @property
    def unused(self) -> tuple[str, ...]:
        """Letters that were not played."""
        return tuple(letter for letter, times in self.times.items() if not times)

    @property
    def longest_row(self) -> int:
        """Most times that one motif came without another between."""
        return max((len(list(same)) for _, same in groupby(self.order)), default=0)

    @property
    def recited_share(self) -> float:
        """Share of the steps from sighting to sighting that go to the next letter of the shelf, or from last to first.

        A shuffled order of m letters has about 1 / m; one that goes through the shelf as it stands has 1.
        """
        if len(self.shelf) < 2 or len(self.order) < 2:
            return 0.0
        following = dict(pairwise((*self.shelf, self.shelf[0])))
        steps = list(pairwise(self.order))
        return sum(following[before] == after for before, after in steps) / len(steps)

    @property
    def evenness(self) -> float:
        """How evenly the shelf was used: 0 = one motif only, 1 = all equally often (entropy over its greatest)."""
        if len(self.shelf) < 2 or not self.order:
            return 0.0
        shares = [times / len(self.order) for times in self.times.values() if times]
        return -sum(share * log2(share) for share in shares) / log2(len(self.shelf))


def motif_use(sightings: Sequence[Sighting], shelf_letters: Sequence[str], notes: int) -> MotifUse:
    """The facts of the sightings by first note. notes: how many the take has."""
    covered = {index for sighting in sightings for index in sighting.notes}
    made = Counter(change for sighting in sightings for change in sighting.changes)
    return MotifUse(
        shelf=tuple(shelf_letters),
        order=tuple(sighting.letter for sighting in sightings),
        notes_share=len(covered) / notes if notes else 0.0,
        changed_share=sum(bool(sighting.changes) for sighting in sightings) / len(sightings) if sightings else 0.0,
        changes=tuple((change, made[change]) for change in Change if made[change]),
    )
