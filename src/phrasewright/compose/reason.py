"""Why a phrase stands where it does: the facts, one sentence a teacher would say, and what came second."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from phrasewright.compose.costs import Parts
from phrasewright.compose.slots import PRIME
from phrasewright.melody.fit import Fit, Grade

STEP_SEMITONES, SMALL_LEAP_SEMITONES = 2, 5
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven")


@dataclass(frozen=True, slots=True, kw_only=True)
class RunnerUp:
    """The best other motif for a phrase's place, all else left as it is.

    letter, count: what it would have been; parts: its cost there with the phrase after it, as in ``Reason``; fit: over
    its chords; interval_semitones: from the phrase before to it, None for the opening.
    """

    letter: str
    count: str
    parts: Parts
    fit: Fit | None
    interval_semitones: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One phrase's reasons.

    bar: from 0; fit: over its chords, None when no chord sounds; interval_semitones: from the last note of the phrase
    before to its first, None for the opening; rest: silence after its last note, quarter notes, and in bars; parts:
    what it costs there in bits, joins to both neighbours together; runner_up: None when no other motif keeps the rules;
    kept_out: then the motif that would have cost least and the rule that keeps it out, in words, where there is one.
    """

    bar: int
    letter: str
    fit: Fit | None
    interval_semitones: int | None
    repeats: bool
    rest: Fraction
    rest_bars: Fraction
    parts: Parts
    runner_up: RunnerUp | None
    kept_out: tuple[str, str] | None = None

    @property
    def sentence(self) -> str:
        """``Bar 3: B comes in a step above and lands on the third of D7; then a bar of rest.``"""
        parts = [f"Bar {self.bar + 1}: {self.letter} {self._entry}{self._landing}"]
        parts += [self._rest] if self._rest else []
        return "; ".join(parts) + "."

    @property
    def second(self) -> str:
        """``D came second: it would end on the ninth over D7.``"""
        other = self.runner_up
        if other is None and self.kept_out is not None:
            letter, rule = self.kept_out
            return f"{letter} would break a rule here: {rule}."
        if other is None:
            return "No other motif may stand here."
        margin = other.parts.bits - self.parts.bits
        if margin < 0:
            return f"{other.letter} would have cost {-margin:.1f} bits less; the draw chose otherwise."
        return f"{other.letter} came second: {self._lost(other)}."

    def _lost(self, other: RunnerUp) -> str:
        """What told most against the runner-up."""
        against = {
            name: getattr(other.parts, name) - getattr(self.parts, name)
            for name in ("landing", "fit", "join", "hand", "again", "difficulty")
        }
        worst = max(against, key=lambda name: against[name])
        bits = f"{against[worst]:.1f} bits"
        if against[worst] <= 0.05:
            return "there was next to nothing between them"
        if worst == "landing" and other.fit is not None:
            return f"it would end on {other.fit.landing.words}"
        if worst == "fit" and other.fit is not None:
            return f"it is {other.fit.grade.value} on these chords, less usual by {bits}"
        if worst == "join":
            here, there = abs(self.interval_semitones or 0), abs(other.interval_semitones or 0)
            if there > max(here, STEP_SEMITONES):
                return f"it would come in {_distance_words(other.interval_semitones or 0)}"
            return f"it leads on less smoothly, by {bits}"
        if worst == "hand":
            return f"the hand would have further to go, {bits} worth"
        if worst == "again":
            return "it stands beside it already"
        return f"it is further from the difficulty wished, by {bits}"

    @property
    def _entry(self) -> str:
        if self.interval_semitones is None:
            return "opens"
        changed = self.repeats and self.letter.endswith(PRIME)
        verb = "comes again with another ending," if changed else "comes again" if self.repeats else "comes in"
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
