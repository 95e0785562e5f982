"""Why a phrase stands where it does: the facts, and one sentence a teacher would say."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from phrasewright.melody.fit import Fit, Grade

STEP_SEMITONES, SMALL_LEAP_SEMITONES = 2, 5
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One phrase's reasons.

    bar: from 0; fit: over its chords, None when no chord sounds; interval_semitones: from the last note of the phrase
    before to its first, None for the opening; rest: silence after its last note, quarter notes, and in bars.
    """

    bar: int
    letter: str
    fit: Fit | None
    interval_semitones: int | None
    repeats: bool
    rest: Fraction
    rest_bars: Fraction

    @property
    def sentence(self) -> str:
        """``Bar 3: B comes in a step above and lands on the third of D7; then a bar of rest.``"""
        parts = [f"Bar {self.bar + 1}: {self.letter} {self._entry}{self._landing}"]
        parts += [self._rest] if self._rest else []
        return "; ".join(parts) + "."

    @property
    def _entry(self) -> str:
        if self.interval_semitones is None:
            return "opens"
        verb = "comes again" if self.repeats else "comes in"
        return f"{verb} {_distance_words(self.interval_semitones)}"

    @property
    def _landing(self) -> str:
        if self.fit is None:
            return " with no chord under it"
        landing = self.fit.landing
        if landing.role.is_chord_tone:
            return f" and lands on {landing.words}"
        verb = "rubs, ending on" if self.fit.grade is Grade.RUBS else "ends open, on"
        return f" and {verb} {landing.words}"

    @property
    def _rest(self) -> str:
        if self.rest == 0:
            return ""
        if self.rest_bars < 1:
            return _short_rest_words(self.rest_bars)
        whole = int(self.rest_bars)
        words = _NUMBERS[whole] if whole < len(_NUMBERS) else str(whole)
        return "then a bar of rest" if whole == 1 else f"then {words} bars of rest"


def _short_rest_words(rest_bars: Fraction) -> str:
    if rest_bars < Fraction(1, 2):
        return "then a breath"
    return "then half a bar of rest" if rest_bars < Fraction(3, 4) else "then almost a bar of rest"


def _distance_words(interval_semitones: int) -> str:
    size = abs(interval_semitones)
    if size == 0:
        return "from the same note"
    name = "a step" if size <= STEP_SEMITONES else "a small leap" if size <= SMALL_LEAP_SEMITONES else "a leap"
    return f"{name} {'above' if interval_semitones > 0 else 'below'}"
