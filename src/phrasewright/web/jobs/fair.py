"""A line in which nobody waits behind all the work of somebody else."""

from __future__ import annotations

from collections import OrderedDict, deque
from typing import Generic, TypeVar

T = TypeVar("T")


class FairLine(Generic[T]):
    """Things that wait, each with an owner: owners take turns, and within one owner the first comes first."""

    def __init__(self) -> None:
        self._waiting: OrderedDict[str, deque[T]] = OrderedDict()  # owners in the order of their turns

    def __len__(self) -> int:
        return sum(map(len, self._waiting.values()))

    def put(self, owner: str, thing: T) -> None:
        """Join the line."""
        self._waiting.setdefault(owner, deque()).append(thing)

    def take(self) -> T:
        """The next thing; its owner's turn comes round again after everybody else's. Raises IndexError when empty."""
        if not self._waiting:
            raise IndexError("nobody waits")
        owner, things = self._waiting.popitem(last=False)
        thing = things.popleft()
        if things:
            self._waiting[owner] = things
        return thing

    def remove(self, thing: T) -> bool:
        """Leave the line; whether it was there."""
        for owner, things in self._waiting.items():
            if thing in things:
                things.remove(thing)
                if not things:
                    del self._waiting[owner]
                return True
        return False
