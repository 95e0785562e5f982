"""What is asked of a working process, and what it tells: one JSON object a line, the same shapes the browser gets.

Paths stand in requests to a process alone; they are made here and never come from the network.
"""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, Field, TypeAdapter

from phrasewright.web.answers import Refusal


class JobState(StrEnum):
    """How far a job is; the last three are its end."""

    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"

    @property
    def is_end(self) -> bool:
        """Whether nothing follows."""
        return self not in (JobState.QUEUED, JobState.RUNNING)


class JobKind(StrEnum):
    """What a job does. probe: see that an upload is a recording; never waits, never seen from outside."""

    PACK = "pack"
    LISTEN = "listen"
    PROBE = "probe"


class PackRequest(BaseModel):
    """Build the pack of a lesson file."""

    kind: Literal["pack"] = "pack"
    lesson: Path
    pack: Path


class ListenRequest(BaseModel):
    """Listen to a take and write what was heard into a folder. piece: empty = the player's own line."""

    kind: Literal["listen"] = "listen"
    lesson: Path
    take: Path
    out: Path
    day: str
    piece: str = ""
    tempo_bpm: float | None = None
    offset_s: float | None = None
    alone: bool = False


class ProbeRequest(BaseModel):
    """See whether a file is a recording that can be listened to."""

    kind: Literal["probe"] = "probe"
    take: Path


JobRequest = PackRequest | ListenRequest | ProbeRequest
REQUEST: TypeAdapter[JobRequest] = TypeAdapter(Annotated[JobRequest, Field(discriminator="kind")])


class PackBuilt(BaseModel):
    """A pack. made, kept: names of stages; files: how many there are."""

    kind: Literal["pack"] = "pack"
    made: list[str]
    kept: list[str]
    files: int


class Listened(BaseModel):
    """A take heard. words: one sentence; notes: how many."""

    kind: Literal["listen"] = "listen"
    words: str
    notes: int


class Probed(BaseModel):
    """An upload that is a recording. remarks: what its player should know."""

    kind: Literal["probe"] = "probe"
    seconds: float
    remarks: list[str]


JobResult = Annotated[PackBuilt | Listened | Probed, Field(discriminator="kind")]


class Told(BaseModel):
    """How far a job is. share: 0 to 1; words: what it does just now; refusal: why it failed."""

    state: JobState = JobState.QUEUED
    share: float = Field(default=0.0, ge=0.0, le=1.0)
    words: str = ""
    result: JobResult | None = None
    refusal: Refusal | None = None


def failed(message: str, hint: str = "") -> Told:
    """The end of a job that came to nothing."""
    return Told(state=JobState.FAILED, words=message, refusal=Refusal(message=message, hint=hint))
