"""The line of waiting work: nobody waits behind all of somebody else's."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.web.jobs.fair import FairLine


def _emptied(line: FairLine[tuple[str, int]]) -> list[tuple[str, int]]:
    return [line.take() for _ in range(len(line))]


def test_owners_take_turns() -> None:
    """One student with five takes does not keep another waiting for more than one."""
    line: FairLine[tuple[str, int]] = FairLine()
    for number in range(5):
        line.put("ana", ("ana", number))
    line.put("ben", ("ben", 0))
    assert _emptied(line)[:3] == [("ana", 0), ("ben", 0), ("ana", 1)]
    with pytest.raises(IndexError):
        line.take()


@given(st.lists(st.sampled_from("abcd"), max_size=30))
def test_nothing_is_lost_and_each_owner_keeps_order(owners: list[str]) -> None:
    """All that joins leaves once, in its owner's order; before anybody's n-th, everybody's (n-1)-th was served."""
    line: FairLine[tuple[str, int]] = FairLine()
    for number, owner in enumerate(owners):
        line.put(owner, (owner, number))
    served = _emptied(line)
    assert sorted(served) == sorted((owner, number) for number, owner in enumerate(owners))
    seen: dict[str, int] = dict.fromkeys(owners, 0)
    for owner, number in served:
        assert [n for o, n in served if o == owner].index(number) == seen[owner]
        left = [other for other in seen if seen[other] < owners.count(other)]
        assert seen[owner] <= min(seen[other] for other in left)
        seen[owner] += 1


def test_what_is_not_wanted_leaves() -> None:
    """A thing can leave from any place, once."""
    line: FairLine[str] = FairLine()
    for owner, thing in (("ana", "one"), ("ana", "two"), ("ben", "three")):
        line.put(owner, thing)
    assert line.remove("one")
    assert not line.remove("one")
    assert line.remove("three")
    assert [line.take() for _ in range(len(line))] == ["two"]
