"""Takes as the browser gets them."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from phrasewright.course.takes import Take

OWN_LINE = "Own line"


class FindingModel(BaseModel):
    """One thing heard. bars: first and last, null = all through; at_s, end_s: in the take; first: told at once."""

    model_config = ConfigDict(populate_by_name=True)

    topic: str
    tone: Literal["good", "note", "work"]
    words: str
    try_next: str = Field(alias="try")
    confidence: float
    bars: tuple[int, int] | None
    at_s: float | None
    end_s: float | None
    first: bool


class NoteModel(BaseModel):
    """One note heard. name: as ``E4``, empty for a dead note; midi: fractional; string: 1 = highest; beat: from 1.

    written: index, in the line as engraved, of the note it was played for. verdict: against it. Null without one.
    """

    at_s: float
    end_s: float
    name: str
    midi: float
    string: int | None
    fret: int | None
    bar: int | None
    beat: float | None
    deviation_ms: float | None
    confidence: float
    written: int | None
    verdict: str | None


class MissedModel(BaseModel):
    """A written note that was not played. at_s: when it was due."""

    at_s: float
    name: str
    midi: int
    string: int | None
    fret: int | None
    bar: int | None


class TakeSummary(BaseModel):
    """A take in a list. piece: empty = own line; state: ``waiting``, ``heard``, ``failed``; job: that works on it."""

    id: str
    lesson_id: str
    student_id: str
    piece: str
    title: str
    tempo_bpm: float | None
    recorded_at: datetime
    seconds: float
    state: str
    words: str
    job: str | None = None
    deleted: bool = False


class TakeModel(TakeSummary):
    """A take with all that was heard. played_bpm: told from it; sound, report, sheet: addresses, null = not yet."""

    played_bpm: float | None = None
    remarks: list[str] = []
    findings: list[FindingModel] = []
    notes: list[NoteModel] = []
    missed: list[MissedModel] = []
    sound: str
    report: str | None = None
    sheet: str | None = None


class HeardView(BaseModel):
    """What listening wrote for the studio."""

    title: str
    words: str
    remarks: list[str]
    tempo_bpm: float | None
    findings: list[FindingModel]
    notes: list[NoteModel]
    missed: list[MissedModel]


def summary_of(take: Take, job: str | None) -> TakeSummary:
    """A take in a list. job: that works on it."""
    return TakeSummary(
        id=take.id,
        lesson_id=take.lesson_id,
        student_id=take.student_id,
        piece=take.piece,
        title=piece_title(take.piece),
        tempo_bpm=take.tempo_bpm,
        recorded_at=datetime.fromisoformat(take.recorded_at),
        seconds=take.seconds,
        state=take.state,
        words=take.words,
        job=job,
        deleted=bool(take.deleted_at),
    )


def take_model(take: Take, view: HeardView | None, job: str | None) -> TakeModel:
    """A take with what was heard. view: None before it is heard."""
    base, address = summary_of(take, job).model_dump(), f"/api/takes/{take.id}"
    if view is None:
        return TakeModel(**base, sound=f"{address}/sound")
    heard = {
        "title": view.title,
        "words": view.words,
        "played_bpm": view.tempo_bpm,
        "report": f"{address}/report",
        "sheet": f"{address}/sheet.pdf",
        "remarks": view.remarks,
        "findings": view.findings,
        "notes": view.notes,
        "missed": view.missed,
    }
    return TakeModel(**(base | heard), sound=f"{address}/sound")


def piece_title(piece: str) -> str:
    """``Study 1`` for ``study-1``; until a take is heard and the lesson's own title is known."""
    name, _, number = piece.partition("-")
    return f"{name.capitalize()} {number}".strip() if piece else OWN_LINE
