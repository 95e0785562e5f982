"""A study or an exercise engraved on its own, quickly, for the desk. The newest engravings are kept."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from phrasewright.app.figures import NARROW_BARS, NARROW_MM, WIDE_MM
from phrasewright.engrave.systems import System, engrave_score
from phrasewright.lesson.plan import LessonPlan
from phrasewright.score.model import Score

KEPT = 48


class Sheet(StrEnum):
    """How wide a sheet is engraved."""

    WIDE = "wide"
    NARROW = "narrow"


@dataclass(frozen=True, slots=True, kw_only=True)
class EngravedPiece:
    """The systems of a piece; the ids of its notes begin with ``prefix``, then n and the note's number."""

    prefix: str
    systems: tuple[System, ...]


def engrave_piece(plan: LessonPlan, piece_id: str, sheet: Sheet) -> EngravedPiece | None:
    """``study-1`` or ``exercise-2`` of a plan; None when there is no such piece. Raises EngravingError."""
    kind, _, number = piece_id.partition("-")
    pieces = plan.studies if kind == "study" else plan.exercises
    place = int(number) - 1
    if not 0 <= place < len(pieces):
        return None
    return _engraved(pieces[place].score, f"{piece_id}-{sheet}-", sheet)


@lru_cache(maxsize=KEPT)
def _engraved(score: Score, prefix: str, sheet: Sheet) -> EngravedPiece:
    wide = sheet is Sheet.WIDE
    found = engrave_score(
        score,
        id_prefix=prefix,
        width_mm=WIDE_MM if wide else NARROW_MM,
        bars_per_system=None if wide else NARROW_BARS,
    )
    return EngravedPiece(prefix=prefix, systems=found.systems)
