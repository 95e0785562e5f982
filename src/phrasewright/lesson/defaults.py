"""What a lesson takes when its file leaves it out: a chart of one chord, and whose habits weigh its notes."""

from __future__ import annotations

from phrasewright.melody.priors import Idiom
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter
from phrasewright.theory.scale import Scale

CHART_BARS = 4
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


def usual_idiom(scale: Scale) -> Idiom:
    """Blues for the pentatonic and blues scales, jazz for the rest."""
    return Idiom.BLUES if scale.kind.id in _BLUES_SCALES else Idiom.JAZZ
