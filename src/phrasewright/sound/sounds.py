"""Where the sound of one note or stroke comes from: the one interface behind which our models and sampled fonts stand.

A source is a value: two equal ones make equal sounds, so renders can be shared by it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from phrasewright.score.model import Drum
from phrasewright.sound import drums
from phrasewright.sound.gesture import PLAIN_GESTURE, Gesture
from phrasewright.sound.voices import Voice, render_note
from phrasewright.units import A4_HZ

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray


class Sounds(Protocol):
    """A source of single sounds. Hashable."""

    def __hash__(self) -> int: ...

    @property
    def note_variants(self) -> int:
        """Renders of the same note that take turns."""

    @property
    def stroke_variants(self) -> int:
        """Renders of the same stroke that take turns."""

    def note(
        self,
        voice: Voice,
        pitch_midi: int,
        duration_s: float,
        velocity: float,
        *,
        sample_rate: int,
        seed: int,
        gesture: Gesture = PLAIN_GESTURE,
    ) -> AudioArray:
        """One note: float32 (n,), attack at sample 0, damped after ``duration_s``, tail included.

        Amplitude follows velocity as ``voices.layer_gain`` has it. seed: which variant; gesture: how a string is
        played, where the source can.
        """

    def stroke(self, drum: Drum, velocity: float, *, sample_rate: int, seed: int) -> AudioArray:
        """One stroke on a piece of the kit: float32 (n,), attack at sample 0, tail included.

        Amplitude follows velocity as ``render.drum_gain`` has it. seed: which variant.
        """


@dataclass(frozen=True, slots=True)
class Models:
    """Our own instrument models at a concert pitch in Hz."""

    a4_hz: float = A4_HZ

    @property
    def note_variants(self) -> int:
        """Two strokes take turns."""
        return 2

    @property
    def stroke_variants(self) -> int:
        """Three strokes take turns."""
        return 3

    def note(
        self,
        voice: Voice,
        pitch_midi: int,
        duration_s: float,
        velocity: float,
        *,
        sample_rate: int,
        seed: int,
        gesture: Gesture = PLAIN_GESTURE,
    ) -> AudioArray:
        """One note, see ``voices.render_note``."""
        return render_note(
            voice,
            pitch_midi,
            duration_s,
            velocity,
            sample_rate=sample_rate,
            seed=seed,
            gesture=gesture,
            a4_hz=self.a4_hz,
        )

    def stroke(self, drum: Drum, velocity: float, *, sample_rate: int, seed: int) -> AudioArray:
        """One stroke, see ``drums.stroke``."""
        return drums.stroke(drum, velocity, sample_rate=sample_rate, seed=seed)


MODELS = Models()
