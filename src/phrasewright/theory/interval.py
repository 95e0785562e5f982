"""Intervals and scale degrees.

An ``Interval`` counts staff steps and semitones, so a spelled name stays spelled. A ``Degree`` is what
players write under notes: a number with accidentals, measured from the major scale on the root
(b3 = minor third, #4 = raised fourth). Common practice.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from phrasewright.theory.pitch import LETTERS, NoteName, Pitch, accidental_sign, accidental_text

MAJOR_SEMITONES = (0, 2, 4, 5, 7, 9, 11)
_DEGREE = re.compile(r"(♯♯|♯|##|#|bb|b|♭♭|♭|)([1-9]|1[0-5])")
_QUALITY = {
    "perfect": {0: "P", 1: "A", -1: "d", 2: "AA", -2: "dd"},
    "imperfect": {0: "M", -1: "m", 1: "A", -2: "d", 2: "AA", -3: "dd"},
}


@dataclass(frozen=True, slots=True)
class Interval:
    """A spelled interval. steps: staff steps (third = 2); semitones: size. Both negative when falling."""

    steps: int
    semitones: int

    @classmethod
    def between(cls, low: Pitch, high: Pitch) -> Interval:
        """From ``low`` to ``high`` (negative when ``high`` is lower)."""
        return cls(high.diatonic - low.diatonic, high.midi - low.midi)

    @classmethod
    def parse(cls, text: str) -> Interval:
        """Read ``P5``, ``m3``, ``-M2``, ``A4``, ``d7``. Raises ValueError otherwise."""
        match = re.fullmatch(r"(-?)(P|M|m|AA|A|dd|d)(\d+)", text.strip())
        if match is None or int(match[3]) < 1:
            raise ValueError(f"not an interval: {text!r}")
        steps = int(match[3]) - 1
        table = _QUALITY["perfect" if steps % 7 in (0, 3, 4) else "imperfect"]
        offsets = {quality: offset for offset, quality in table.items()}
        if match[2] not in offsets:
            raise ValueError(f"there is no interval {text!r}")
        semitones = 12 * (steps // 7) + MAJOR_SEMITONES[steps % 7] + offsets[match[2]]
        sign = -1 if match[1] else 1
        return cls(sign * steps, sign * semitones)

    def __str__(self) -> str:
        falling = self.steps < 0 or (self.steps == 0 and self.semitones < 0)
        steps, semitones = (-self.steps, -self.semitones) if falling else (self.steps, self.semitones)
        offset = semitones - 12 * (steps // 7) - MAJOR_SEMITONES[steps % 7]
        table = _QUALITY["perfect" if steps % 7 in (0, 3, 4) else "imperfect"]
        quality = table.get(offset, f"({offset:+d})")
        return f"{'-' if falling else ''}{quality}{steps + 1}"

    def __neg__(self) -> Interval:
        return Interval(-self.steps, -self.semitones)

    def above(self, pitch: Pitch) -> Pitch:
        """The pitch this far above ``pitch`` (below when negative)."""
        octave, letter = divmod(pitch.diatonic + self.steps, 7)
        natural = Pitch(NoteName(LETTERS[letter]), octave)
        alter = pitch.midi + self.semitones - natural.midi
        return Pitch(NoteName(LETTERS[letter], alter), octave)

    def above_name(self, name: NoteName) -> NoteName:
        """The note name this far above ``name``."""
        return self.above(Pitch(name, 4)).name


@dataclass(frozen=True, slots=True, order=True)
class Degree:
    """A scale or chord degree relative to the major scale: ``Degree(3, -1)`` is b3. number: 1..15."""

    number: int
    alter: int = 0

    def __post_init__(self) -> None:
        if not 1 <= self.number <= 15:
            raise ValueError(f"degree number must lie in 1..15, got {self.number}")

    @classmethod
    def parse(cls, text: str) -> Degree:
        """Read ``1``, ``b3``, ``#11``, ``♭7``. Raises ValueError otherwise."""
        match = _DEGREE.fullmatch(text.strip())
        if match is None:
            raise ValueError(f"not a degree: {text!r}")
        sign = match[1].replace("♯", "#").replace("♭", "b")
        return cls(int(match[2]), len(sign) if sign.startswith("#") else -len(sign))

    @property
    def interval(self) -> Interval:
        """Interval from the root up to this degree."""
        steps = self.number - 1
        return Interval(steps, 12 * (steps // 7) + MAJOR_SEMITONES[steps % 7] + self.alter)

    @property
    def semitones(self) -> int:
        """Pitch class above the root, 0..11."""
        return self.interval.semitones % 12

    @property
    def simple(self) -> Degree:
        """The same degree within one octave: 9 -> 2, b13 -> b6."""
        return Degree((self.number - 1) % 7 + 1, self.alter)

    def above(self, root: NoteName) -> NoteName:
        """The spelled note of this degree over ``root``."""
        return self.interval.above_name(root)

    @property
    def printed(self) -> str:
        """For people: with real accidental signs, e.g. ``♭3``."""
        return f"{accidental_sign(self.alter)}{self.number}"

    def __str__(self) -> str:
        return f"{accidental_text(self.alter)}{self.number}"
