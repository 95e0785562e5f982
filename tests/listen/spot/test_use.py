"""Facts about how the shelf was used."""

from __future__ import annotations

import pytest

from phrasewright.listen.spot.use import MotifUse, motif_use
from phrasewright.listen.spotted import Change, Sighting


def used(order: str, *, shelf: str = "ABCD", changes: tuple[Change, ...] = ()) -> MotifUse:
    sightings = [
        Sighting(letter=letter, first=4 * at, last=4 * at + 2, notes=(4 * at, 4 * at + 1, 4 * at + 2), changes=changes)
        for at, letter in enumerate(order)
    ]
    return motif_use(sightings, shelf, 4 * len(order))


@pytest.mark.parametrize(
    ("order", "recited", "row", "evenness"),
    [
        ("ABCDABCD", 1.0, 1, 1.0),
        ("AAAAAAAA", 0.0, 8, 0.0),
        ("ACBDDBCA", 1 / 7, 2, 1.0),  # B to C alone goes on as the shelf does
        ("AABB", 1 / 3, 2, 0.5),
        ("A", 0.0, 1, 0.0),
        ("", 0.0, 0, 0.0),
    ],
)
def test_order_and_mixture(order: str, recited: float, row: int, evenness: float) -> None:
    """Reciting, staying with one motif, and mixing, by hand."""
    use = used(order)
    assert use.recited_share == pytest.approx(recited)
    assert use.longest_row == row
    assert use.evenness == pytest.approx(evenness)


def test_counts_and_shares() -> None:
    """Three of four notes explained; letters that never came; changes counted."""
    use = used("ABA", changes=(Change.OCTAVE,))
    assert use.times == {"A": 2, "B": 1, "C": 0, "D": 0}
    assert use.unused == ("C", "D")
    assert use.notes_share == pytest.approx(0.75)
    assert use.changed_share == 1.0
    assert use.changes == ((Change.OCTAVE, 3),)
    assert used("").notes_share == 0.0


def test_a_shelf_of_one_cannot_be_mixed() -> None:
    use = used("AAA", shelf="A")
    assert (use.recited_share, use.evenness) == (0.0, 0.0)
