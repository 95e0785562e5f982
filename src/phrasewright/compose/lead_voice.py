"""What the lead plays on: the plucked voices that carry a line."""

from __future__ import annotations

from enum import StrEnum


class LeadVoice(StrEnum):
    """The value is what ``Part.voice`` says."""

    GUITAR = "guitar"  # clean electric
    DRIVEN_GUITAR = "driven guitar"
    ACOUSTIC_GUITAR = "acoustic guitar"
    NYLON_GUITAR = "nylon guitar"
