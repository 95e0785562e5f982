"""Time: ahead or behind, even or not, rushing or dragging, swinging with the track or not.

The whole take early or late tells nothing when its place was only guessed from its own notes (``OffsetSource.GRID``).
Errors: of a median 1.25 times that of a mean; of a robust spread 1.17 / sqrt(n) of itself (Rousseeuw & Croux 1993: 37 %
efficient). A tempo that changes evenly bends the deviations into a parabola: the error of its change from end to end is
2 sqrt(180 / n) spreads over the length (least squares, notes evenly spread).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from math import sqrt

from phrasewright.listen.finding import Finding
from phrasewright.listen.findings.chance import mean_above
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.tell import tell
from phrasewright.listen.findings.thresholds import THRESHOLDS
from phrasewright.listen.placed import OffsetSource

SOLOISTS_SPREAD_MS = ((90.0, 45.0), (120.0, 34.0), (150.0, 32.0), (180.0, 27.0), (220.0, 24.0), (260.0, 22.0))
FASTEST_SPREAD_MS = 21.0  # docs/sources.md 3.6: standard deviations of soloists on the beat, up to a tempo
LEAST_SPREAD_S = 0.005
SOLOISTS_RATIO = 1.3  # over a swinging band, on average (Corcoran & Frieler 2021)
MEDIAN_ERROR, SPREAD_ERROR = 1.25, 1.17


def timing(playing: Playing) -> Iterator[Finding]:
    """What is worth saying about time."""
    swing = list(_swing(playing))
    drift = list(_drift(playing))
    yield from swing
    yield from drift
    if not swing:  # it moves every second note: one cause is told once
        yield from _bias(playing)
    if not swing and not drift:
        yield from _spread(playing)


def soloists_spread_s(tempo_bpm: float) -> float:
    """How far soloists' notes lie apart from the beat at a tempo, one standard deviation."""
    return next((ms for to_bpm, ms in SOLOISTS_SPREAD_MS if tempo_bpm <= to_bpm), FASTEST_SPREAD_MS) / 1000.0


def _spread_s(playing: Playing) -> float:
    spread_s = playing.take.timing.spread_s
    return LEAST_SPREAD_S if spread_s is None else max(spread_s, LEAST_SPREAD_S)


def _bias(playing: Playing) -> Iterator[Finding]:
    timing = playing.take.timing
    guessed = playing.take.alignment.clock.source is OffsetSource.GRID
    if timing.bias_s is None or guessed or timing.notes < THRESHOLDS["late"].least:
        return
    late = timing.bias_s > 0
    kind = "late" if late else "early"
    noticed = playing.noticeable_s()
    error_s = MEDIAN_ERROR * _spread_s(playing) / sqrt(timing.notes)
    size_ms = abs(timing.bias_s) * 1000.0
    yield from tell(
        playing, kind, sure=mean_above(abs(timing.bias_s), THRESHOLDS[kind].limit * noticed, error_s),
        measured=abs(timing.bias_s) / noticed, size=size_ms, unit="ms", trust=playing.trust_in_time,
        said=f"Your notes come {size_ms:.0f} ms {'after' if late else 'before'} the beat, all through.",
        try_next="Tap your foot to the hi-hat for one chorus and play only on the taps."
        if late
        else "Listen to the bass: let each of its notes sound before you play yours.",
    )  # fmt: skip


def _spread(playing: Playing) -> Iterator[Finding]:
    timing = playing.take.timing
    if timing.spread_s is None or timing.notes < THRESHOLDS["uneven"].least:
        return
    usual_s = soloists_spread_s(playing.take.alignment.clock.tempo_bpm)
    error_s = SPREAD_ERROR * _spread_s(playing) / sqrt(timing.notes)
    size_ms = timing.spread_s * 1000.0
    limit_s = max(THRESHOLDS["uneven"].limit * usual_s, 3.0 * playing.noticeable_s())
    yield from tell(
        playing, "uneven", sure=mean_above(timing.spread_s, limit_s, error_s), measured=timing.spread_s / usual_s,
        size=size_ms, unit="ms", trust=playing.trust_in_time,
        said=f"Your notes lie unevenly around the beat, some {size_ms:.0f} ms to either side.",
        try_next="Play two phrases slowly with the click, ten beats a minute slower, until every note sits on its count.",
    )  # fmt: skip
    yield from tell(
        playing, "steady", sure=mean_above(usual_s, timing.spread_s, error_s), measured=timing.spread_s / usual_s,
        size=size_ms, unit="ms", trust=playing.trust_in_time,
        said=f"Your time is steady: notes lie within {size_ms:.0f} ms of each other's place, as good soloists' do.",
        try_next="Try the same at ten beats a minute more.",
    )  # fmt: skip


def _drift(playing: Playing) -> Iterator[Finding]:
    timing, line = playing.take.timing, playing.line
    if timing.drift_percent is None or timing.notes < THRESHOLDS["rushing"].least:
        return
    length_s = float(line.onset_s[-1] - line.onset_s[0]) if len(line) > 1 else 1.0
    error = 100.0 * 2.0 * sqrt(180.0 / timing.notes) * _spread_s(playing) / length_s
    gained = timing.drift_percent
    kind = "rushing" if gained > 0 else "dragging"
    size = abs(gained)
    yield from tell(
        playing, kind, sure=mean_above(size, THRESHOLDS[kind].limit, error), measured=size, size=size, unit="%",
        said=f"You got {'faster' if gained > 0 else 'slower'} on the way: {size:.1f} % from beginning to end.",
        try_next="Record one chorus with the click on beats two and four only, and lean on them."
        if gained > 0
        else "Feel the small counts between the beats: say one-and-two-and under your breath as you play.",
    )  # fmt: skip


def _swing(playing: Playing) -> Iterator[Finding]:
    ratio, pairs = playing.take.timing.swing_ratio, _pairs(playing)
    if ratio is None or pairs < THRESHOLDS["too-swung"].least:
        return
    groove = playing.take.groove_swing_ratio
    least = _long_share(min(groove, SOLOISTS_RATIO)) * playing.beat_s
    most = _long_share(max(groove, SOLOISTS_RATIO)) * playing.beat_s
    played = _long_share(ratio) * playing.beat_s
    straight = played < least
    kind = "too-straight" if straight else "too-swung"
    off_s = max(least - played, played - most)
    noticed = max(0.006, 0.025 * playing.beat_s / 2.0)
    error_s = sqrt(2.0) * MEDIAN_ERROR * _spread_s(playing) / sqrt(pairs)
    yield from tell(
        playing, kind, sure=mean_above(off_s, THRESHOLDS[kind].limit * noticed, error_s), measured=off_s / noticed,
        size=ratio, unit="to 1", trust=playing.trust_in_time,
        said=f"Your eighths are {ratio:.1f} to 1, the track's {groove:.1f} to 1: "
        + ("yours are straighter." if straight else "yours swing harder."),
        try_next="Say doo-bah with the ride cymbal, long and short, and play in those words."
        if straight
        else "Let the second eighth come sooner: play even eighths for a chorus, then relax.",
    )  # fmt: skip


def _long_share(ratio: float) -> float:
    """Share of the beat that the first of two eighths takes."""
    return ratio / (1.0 + ratio)


def _pairs(playing: Playing) -> int:
    """How many beats have a note on them and one half-way to the next."""
    half = Fraction(1, 2)
    return sum(b.at - a.at == half and a.at.denominator == 1 for a, b in pairwise(playing.placed))
