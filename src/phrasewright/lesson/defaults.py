"""What a lesson takes when its file leaves it out: a chart, and whose habits weigh its notes.

The twelve-bar form of ``starter_chart`` is common practice; in minor the fifth's chord is left minor, which keeps to
the tones of the minor pentatonic.
"""

from __future__ import annotations

from phrasewright.melody.priors import Idiom
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter
from phrasewright.theory.scale import Scale

CHART_BARS = 4
_TWELVE_BARS = (1, 1, 1, 1, 4, 4, 1, 1, 5, 4, 1, 1)  # degrees of the roots
_BLUES_SCALES = frozenset({"minor-pentatonic", "major-pentatonic", "blues", "major-blues"})
_TONIC_KINDS = (  # the first whose degrees the scale has all of
    "major-seventh",
    "dominant",
    "minor-seventh",
    "half-diminished",
    "major-minor",
    "augmented-seventh",
    "major-sixth",
    "major",
    "minor",
    "diminished",
    "augmented",
)


def tonic_chord(scale: Scale) -> Chord:
    """The seventh chord, or else the triad, that a scale builds on its root; a power chord when it has none."""
    present = {degree.semitones for degree in scale.kind.degrees}
    for name in _TONIC_KINDS:
        kind = CHORD_KINDS[name]
        if present >= {degree.semitones for degree in kind.degrees}:
            return Chord(root=scale.root, kind=kind)
    fifth = Degree(5).semitones in present
    return Chord(root=scale.root, kind=CHORD_KINDS["power" if fifth else "suspended-fourth"])


def plain_chart(scale: Scale, meter: Meter) -> Chart:
    """Four bars of the scale's own chord."""
    bar = ChartBar(chords=((tonic_chord(scale), meter.bar),))
    return Chart(meter=meter, bars=(bar,) * CHART_BARS)


def starter_chart(scale: Scale, meter: Meter) -> Chart:
    """A chart to begin a lesson with: twelve bars for pentatonic and blues scales, else four bars of one chord."""
    if scale.kind.id not in _BLUES_SCALES:
        return plain_chart(scale, meter)
    minor = Degree(3, -1) in scale.kind.degrees and Degree(3) not in scale.kind.degrees
    kind = CHORD_KINDS["minor-seventh" if minor else "dominant"]
    bars = [
        ChartBar(chords=((Chord(root=Degree(number).above(scale.root), kind=kind), meter.bar),))
        for number in _TWELVE_BARS
    ]
    return Chart(meter=meter, bars=tuple(bars))


def usual_idiom(scale: Scale) -> Idiom:
    """Blues for the pentatonic and blues scales, jazz for the rest."""
    return Idiom.BLUES if scale.kind.id in _BLUES_SCALES else Idiom.JAZZ
