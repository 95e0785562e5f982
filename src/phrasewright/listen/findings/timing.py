"""Time: ahead or behind, even or not, rushing or dragging, swinging with the track or not.

The whole take early or late tells nothing when its place was found from its own notes: a late player and a recorder
that started early look alike then.
Errors: of a median 1.25 times that of a mean; of a robust spread 1.17 / sqrt(n) of itself (Rousseeuw & Croux 1993: 37 %
efficient). A tempo that changes evenly bends the deviations into a parabola: the error of its change from end to end is
2 sqrt(180 / n) spreads over the length (least squares, notes evenly spread).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from math import sqrt

from phrasewright.listen.align.trend import MAD_TO_SD
from phrasewright.listen.finding import Finding
from phrasewright.listen.findings.chance import (
    MEDIAN_ERROR,
    deviation_of,
    mean_above,
    median_error,
    share_above,
)
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.tell import tell
from phrasewright.listen.findings.thresholds import SOLOISTS_BEAT_MS, SOLOISTS_RATIO, THRESHOLDS
from phrasewright.listen.noticed import noticeable_s
from phrasewright.listen.placed import OffsetSource

TOLD_APART = (OffsetSource.GIVEN, OffsetSource.TRACK)  # sources that tell a late player from a late recording
LEAST_SPREAD_S = 0.005
SPREAD_ERROR = 1.17
BY_CHANCE = 0.55  # of the spread that notes strewn evenly about sixteenths have, from which on strays are not meant


def timing(playing: Playing) -> Iterator[Finding]:
    """What is worth saying about time."""
    drift = list(_drift(playing))
    scattered = [] if drift else list(_scattered(playing))
    swing = [] if scattered or _is_uneven(playing) else list(_swing(playing))
    yield from (*swing, *drift, *scattered)
    if not swing and not scattered:  # one cause is told once: swing moves every second note, strays have no place
        yield from _bias(playing)
    if not swing and not drift and not scattered:
        yield from _spread(playing)


def soloists_at(tempo_bpm: float) -> tuple[float, float]:
    """How late soloists' notes are on the beat at a tempo, and how widely they lie around that, in s."""
    lag_ms, spread_ms = next((lag, spread) for to_bpm, lag, spread in SOLOISTS_BEAT_MS if tempo_bpm <= to_bpm)
    return lag_ms / 1000.0, spread_ms / 1000.0


def _spread_s(playing: Playing) -> float:
    spread_s = playing.take.timing.spread_s
    return LEAST_SPREAD_S if spread_s is None else max(spread_s, LEAST_SPREAD_S)


def _bias(playing: Playing) -> Iterator[Finding]:
    timing, clock = playing.take.timing, playing.take.alignment.clock
    if timing.bias_s is None or clock.source not in TOLD_APART or timing.notes < THRESHOLDS["late"].least:
        return
    late = timing.bias_s > 0
    kind = "late" if late else "early"
    usual_s = soloists_at(clock.tempo_bpm)[0] if late else 0.0
    beyond_s = abs(timing.bias_s) - usual_s
    error_s = MEDIAN_ERROR * _spread_s(playing) / sqrt(timing.notes)
    size_ms = abs(timing.bias_s) * 1000.0
    yield from tell(
        playing,
        kind,
        sure=mean_above(beyond_s, THRESHOLDS[kind].limit * playing.noticeable_s, error_s),
        measured=beyond_s / playing.noticeable_s,
        size=size_ms,
        unit="ms",
        trust=playing.trust_in_time,
        said=f"Your notes come about {size_ms:.0f} ms {'after' if late else 'before'} the beat, all through.",
        try_next="Tap your foot to the track for one chorus and play only on the taps."
        if late
        else "Listen to the bass: let each of its notes sound before you play yours.",
    )


def _spread(playing: Playing) -> Iterator[Finding]:
    timing = playing.take.timing
    if timing.spread_s is None or timing.notes < THRESHOLDS["uneven"].least:
        return
    _, usual_s = soloists_at(playing.take.alignment.clock.tempo_bpm)
    error_s = SPREAD_ERROR * _spread_s(playing) / sqrt(timing.notes)
    size_ms = timing.spread_s * 1000.0
    limit_s = max(THRESHOLDS["uneven"].limit * usual_s, 3.0 * playing.noticeable_s)
    yield from tell(
        playing,
        "uneven",
        sure=mean_above(timing.spread_s, limit_s, error_s),
        measured=timing.spread_s / usual_s,
        size=size_ms,
        unit="ms",
        trust=playing.trust_in_time,
        said=f"Your notes lie unevenly around the beat, some {size_ms:.0f} ms to either side.",
        try_next="Play two phrases with the click, ten beats a minute slower, until every note sits on its count.",
    )
    yield from tell(
        playing,
        "steady",
        sure=mean_above(usual_s, timing.spread_s, error_s),
        measured=timing.spread_s / usual_s,
        size=size_ms,
        unit="ms",
        trust=playing.trust_in_time,
        said=f"Your time is steady: most notes lie within {size_ms:.0f} ms of their place, as with good soloists.",
        try_next="Try the same at ten beats a minute more.",
    )


def _scattered(playing: Playing) -> Iterator[Finding]:
    """Very uneven notes fall on whatever count is near, and so seem less off than they are: counts give them away."""
    strays, of, spread_s = _strays(playing), len(playing.placed), playing.take.timing.spread_s
    if playing.is_compound or of < THRESHOLDS["scattered"].least or spread_s is None:
        return
    by_chance_s = MAD_TO_SD * 60.0 / playing.take.alignment.clock.tempo_bpm / 16.0
    wide = mean_above(spread_s, BY_CHANCE * by_chance_s, SPREAD_ERROR * spread_s / sqrt(of))
    often = share_above(len(strays), of, THRESHOLDS["scattered"].limit)
    size_ms = 1000.0 * deviation_of(_off_eighths_s(playing))
    yield from tell(
        playing,
        "scattered",
        sure=min(wide, often),
        measured=len(strays) / of,
        size=size_ms,
        unit="ms",
        notes=playing.told(strays),
        trust=playing.trust_in_time,
        said=f"Your notes lie unevenly around the beat, some {size_ms:.0f} ms to either side. Often one cannot tell "
        "which count they are meant for.",
        try_next="Choose a rhythm of five notes, count it aloud, and play only that until every note is on its count.",
    )


def _strays(playing: Playing) -> list[int]:
    """Positions of notes that are on no eighth and in no run of three in steps of a triplet eighth or less."""
    counts = [note.at for note in playing.placed]
    short = [after - before <= Fraction(1, 3) for before, after in pairwise(counts)]
    runs = {at + step for at, pair in enumerate(pairwise(short)) if all(pair) for step in range(3)}
    return [at for at, count in enumerate(counts) if (2 * count).denominator != 1 and at not in runs]


def _off_eighths_s(playing: Playing) -> list[float]:
    """How far notes lie from the nearest eighth."""
    clock = playing.take.alignment.clock
    return [note.note.onset_s - clock.seconds_at(Fraction(round(2 * note.at), 2)) for note in playing.placed]


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
        playing,
        kind,
        sure=mean_above(size, THRESHOLDS[kind].limit, error),
        measured=size,
        size=size,
        unit="%",
        said=f"Your tempo {'runs away' if gained > 0 else 'sinks'}: by the end you are {size:.1f} % "
        f"{'faster' if gained > 0 else 'slower'} than you should be.",
        try_next="Record one chorus with the click on beats two and four only, and lean on them."
        if gained > 0
        else "Feel the small counts between the beats: say one-and-two-and under your breath as you play.",
    )


def _is_uneven(playing: Playing) -> bool:
    """True where notes on the beat, or those off it, lie too widely around their own middle to tell a swing by."""
    limit_s = THRESHOLDS["uneven"].limit * soloists_at(playing.take.alignment.clock.tempo_bpm)[1]
    parts = (_deviations_s(playing, part) for part in (0.0, 0.5))
    return any(deviation_of(part) > limit_s for part in parts if part)


def _swing(playing: Playing) -> Iterator[Finding]:
    ratio = playing.take.timing.swing_ratio
    on_beat, off_beat = _deviations_s(playing, 0.0), _deviations_s(playing, 0.5)
    if ratio is None or playing.is_compound or min(len(on_beat), len(off_beat)) < THRESHOLDS["too-swung"].least:
        return
    groove = playing.take.groove_swing_ratio
    least = _long_share(min(groove, SOLOISTS_RATIO)) * playing.beat_s
    most = _long_share(max(groove, SOLOISTS_RATIO)) * playing.beat_s
    played = _long_share(ratio) * playing.beat_s
    straight = played < least
    kind = "too-straight" if straight else "too-swung"
    off_s = max(least - played, played - most)
    noticed = noticeable_s(playing.beat_s / 2.0)
    error_s = sqrt(median_error(on_beat, LEAST_SPREAD_S) ** 2 + median_error(off_beat, LEAST_SPREAD_S) ** 2)
    yield from tell(
        playing,
        kind,
        sure=mean_above(off_s, THRESHOLDS[kind].limit * noticed, error_s),
        measured=off_s / noticed,
        size=ratio,
        unit="to 1",
        trust=playing.trust_in_time,
        said=f"Your eighths are {ratio:.1f} to 1, the track's {groove:.1f} to 1: "
        + ("yours are nearly even." if straight else "yours swing harder."),
        try_next="Say doo-bah with the track, long and short, and play in those words."
        if straight
        else "Let the second eighth come sooner: play even eighths for a chorus, then relax.",
    )


def _long_share(ratio: float) -> float:
    """Share of the beat that the first of two eighths takes."""
    return ratio / (1.0 + ratio)


def _deviations_s(playing: Playing, part: float) -> list[float]:
    """How far notes on one part of the beat lie off their place. part: 0 = on the beat, 0.5 = half-way to the next."""
    return [note.deviation_s for note in playing.placed if note.beat % 1.0 == part]
