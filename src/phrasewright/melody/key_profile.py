"""Which key a mixture of notes sounds like.

Krumhansl and Kessler, *Psychological Review* 89 (1982): how well each pitch class was heard to fit a major and a minor
key. A mixture is held against all 24 turned profiles by Pearson's correlation (Krumhansl, *Cognitive Foundations of
Musical Pitch*, 1990). docs/sources.md 3.1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import correlation

from phrasewright.score.chart import Chart
from phrasewright.theory.key import Key, Mode
from phrasewright.theory.pitch import NoteName

PROFILES: dict[Mode, tuple[float, ...]] = {
    Mode.MAJOR: (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88),
    Mode.MINOR: (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17),
}
_USUAL_NAMES = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
ROOT_COUNTS = 2.0  # a chord's root is heard about twice as strongly as its other tones (our choice)


@dataclass(frozen=True, slots=True)
class KeyFit:
    """A key and how well it fits, a correlation in -1..1."""

    key: Key
    correlation: float


def profile_of(tonic: int, mode: Mode) -> tuple[float, ...]:
    """The profile of a key over the pitch classes from C. tonic: pitch class."""
    profile = PROFILES[mode]
    return tuple(profile[(pitch_class - tonic) % 12] for pitch_class in range(12))


def keys_of(weights: Sequence[float]) -> tuple[KeyFit, ...]:
    """All 24 keys, best first. weights: of the 12 pitch classes from C; empty when all are alike."""
    if len(set(weights)) == 1:
        return ()
    fits = [
        KeyFit(Key(NoteName.parse(_USUAL_NAMES[tonic]), mode), correlation(weights, profile_of(tonic, mode)))
        for mode in Mode
        for tonic in range(12)
    ]
    return tuple(sorted(fits, key=lambda fit: -fit.correlation))


def key_of_chart(chart: Chart) -> KeyFit | None:
    """The key that the chart's chords sound like, each counting by its length; None without chords."""
    weights = [0.0] * 12
    for bar in chart.bars:
        for chord, length in bar.chords:
            for tone in chord.tones if chord else ():
                share = ROOT_COUNTS if chord and tone == chord.root else 1.0
                weights[tone.pitch_class] += float(length) * share
    return next(iter(keys_of(weights)), None)
