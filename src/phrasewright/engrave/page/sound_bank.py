"""The sound a page carries, as plain values: one-shot clips in one sprite for each part, a metronome, a room."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from phrasewright.score.model import PartRole


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipUse:
    """Which clip sounds for an event, how loud (linear gain, > 0) and at what rate (1 = as recorded)."""

    key: str
    gain: float = 1.0
    rate: float = 1.0

    def __post_init__(self) -> None:
        if not self.key or self.gain <= 0.0 or self.rate <= 0.0:
            raise ValueError(f"a clip needs a key, gain > 0 and rate > 0, got {self}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Clip:
    """Where a one-shot lies in its sprite, in frames."""

    start_frames: int
    length_frames: int

    def __post_init__(self) -> None:
        if self.start_frames < 0 or self.length_frames <= 0:
            raise ValueError(f"a clip needs start >= 0 and length > 0 frames, got {self}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sprite:
    """The clips of one part in one sound file. audio: a whole FLAC file; clips: by the key that events use.

    level: the part's gain at its middle setting; release_s: how long a stopped note takes to fall silent, None
    when notes ring out by themselves (drums); room: share sent to the reverb, 0..1; sides: gains of the left and right
    channel for mono audio, None = as recorded.
    """

    audio: bytes = field(repr=False)
    sample_rate_hz: int
    clips: Mapping[str, Clip]
    level: float = 1.0
    release_s: float | None = 0.06
    room: float = 0.2
    sides: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundBank:
    """All sound of a page. click, accent: the metronome's clips, in the drums' sprite.

    impulse: a whole FLAC file (mono or stereo) with the room's impulse response; None = dry.
    recordings: by name, each with a clip for every bar (``recorded.recorded_sprite``).
    """

    sprites: Mapping[PartRole, Sprite]
    click: ClipUse
    accent: ClipUse
    impulse: bytes | None = field(default=None, repr=False)
    recordings: Mapping[str, Sprite] = field(default_factory=dict)

    def __post_init__(self) -> None:
        drums = self.sprites.get(PartRole.DRUMS)
        if drums is None or self.click.key not in drums.clips or self.accent.key not in drums.clips:
            raise ValueError("the bank needs a drums sprite that holds the click and its accent")
