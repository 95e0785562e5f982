"""What is noticed at all: by ears of one note that comes early or late, by findings of a note that was hardly heard."""

from __future__ import annotations

BELIEVED = 0.5  # confidence from which on a note or a technique counts: more likely heard than not


def noticeable_s(step_s: float) -> float:
    """The least shift of one note that ears notice in an even row (docs/sources.md 5). step_s: from note to note."""
    return max(0.006, 0.025 * step_s)
