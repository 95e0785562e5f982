"""Counts to begin with, in every meter."""

from __future__ import annotations

import pytest
from compose_strategies import METERS
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.compose.counts import complete_counts, default_counts
from phrasewright.theory.count import parse_count
from phrasewright.theory.meter import Meter


@pytest.mark.parametrize("meter", METERS, ids=str)
def test_every_usual_meter_has_counts_for_every_size(meter: Meter) -> None:
    """Two counts for each size, one bar long, begun on the first beat."""
    counts = default_counts(meter)
    assert set(counts) == {2, 3, 4, 5}
    for size, row in counts.items():
        assert len(row) == 2
        for count in row:
            assert len(count.strokes) == size
            assert count.bars == 1
            assert count.strokes[0].onset == 0


@given(st.integers(1, 17), st.sampled_from((2, 4, 8, 16)))
def test_any_other_meter_has_a_plain_one(upper: int, lower: int) -> None:
    """Also 1/4 and 17/16: at least one count for each size."""
    counts = default_counts(Meter(upper, lower))
    assert all(len(count.strokes) == size for size, row in counts.items() for count in row)
    assert all(counts[size] for size in (2, 3, 4, 5))


def test_the_teachers_counts_come_first() -> None:
    """Given sizes replace the default, the others stay."""
    four = Meter(4, 4)
    own = (parse_count("1 trip let", four),)
    counts = complete_counts({3: own}, four)
    assert counts[3] == own
    assert counts[2] == default_counts(four)[2]


@pytest.mark.parametrize(("size", "text", "meter"), [(3, "1 2", Meter(4, 4)), (2, "1 2", Meter(3, 4))])
def test_wrong_counts_are_refused(size: int, text: str, meter: Meter) -> None:
    """A count of another size or meter is a mistake."""
    with pytest.raises(ValueError, match="is not"):
        complete_counts({size: (parse_count(text, meter),)}, Meter(4, 4))
