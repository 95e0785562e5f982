"""Space: how much a player rests, and how long a run goes on without a rest."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import sqrt
from statistics import fmean, stdev

from phrasewright.listen.finding import Finding
from phrasewright.listen.findings.chance import mean_above
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.tell import per_cent, tell
from phrasewright.listen.findings.thresholds import THRESHOLDS

SCATTER = 0.02  # bars are never exactly alike: least spread of their silence that errors are reckoned from
TIMED_S = 0.1  # how well the length of a run is known
SOME_SPACE = 0.1  # a lesson that wishes less gives no measure of space


def space(playing: Playing) -> Iterator[Finding]:
    """What is worth saying about silence."""
    crowded = list(_share(playing))
    yield from crowded
    if not any(finding.kind == "no-space" for finding in crowded):
        yield from _long_run(playing)


def silence(playing: Playing) -> tuple[float, float]:
    """Share of the time in which nothing sounds, and its standard error over the bars."""
    shares = [playing.silence_in(bar) for bar in playing.bars]
    if not shares:
        return 0.0, 1.0
    spread = stdev(shares) if len(shares) > 1 else 1.0
    return fmean(shares), max(spread, SCATTER) / sqrt(len(shares))


def _share(playing: Playing) -> Iterator[Finding]:
    share, error = silence(playing)
    wished = playing.take.wished_space
    told = f"You rested for {per_cent(share)} % of the time"
    if len(playing.bars) >= THRESHOLDS["much-space"].least:
        limit = THRESHOLDS["much-space"].limit
        yield from tell(
            playing,
            "much-space",
            sure=mean_above(share, limit, error),
            measured=share,
            size=share,
            unit="of the time",
            said=f"{told}: the few notes you played had plenty of air around them.",
            try_next="Answer every second phrase with a second, longer one.",
            trust=playing.trust_in_time,
        )
    if len(playing.bars) < THRESHOLDS["no-space"].least or wished < SOME_SPACE:
        return
    limit = THRESHOLDS["no-space"].limit * wished
    yield from tell(
        playing,
        "no-space",
        sure=mean_above(limit, share, error),
        measured=share / wished,
        size=share,
        unit="of the time",
        said=f"{told}; this lesson asks for {per_cent(wished)} %. Your ideas have little room to be heard.",
        try_next="Play one idea, then breathe out slowly before you play the next.",
        trust=playing.trust_in_time,
    )
    yield from tell(
        playing,
        "room",
        sure=mean_above(share, wished, error),
        measured=share / wished,
        size=share,
        unit="of the time",
        said=f"{told}. That lets every idea ring out.",
        try_next="Keep that breath between ideas when the tempo goes up.",
        trust=playing.trust_in_time,
    )


def _long_run(playing: Playing) -> Iterator[Finding]:
    run = _longest(playing)
    if len(run) < THRESHOLDS["long-run"].least:
        return
    seconds = playing.placed[run[-1]].note.offset_s - playing.placed[run[0]].note.onset_s
    yield from tell(
        playing,
        "long-run",
        sure=mean_above(seconds, THRESHOLDS["long-run"].limit, TIMED_S),
        measured=seconds,
        size=seconds,
        unit="s",
        notes=playing.told(run),
        trust=playing.trust_in_time,
        said=f"Once you played on for {seconds:.0f} seconds without a rest. A listener soon loses the thread.",
        try_next="Cut that run in two: leave out the notes of one whole beat in its middle.",
    )


def _longest(playing: Playing) -> range:
    """Positions of the longest run that no rest breaks."""
    ends_s = {end_s for _, end_s in playing.rests_s}
    starts = [at for at, note in enumerate(playing.placed) if at == 0 or note.note.onset_s in ends_s]
    runs = [range(a, b) for a, b in pairwise([*starts, len(playing.placed)])]

    def length_s(run: range) -> float:
        return playing.placed[run[-1]].note.offset_s - playing.placed[run[0]].note.onset_s

    return max(runs, key=length_s, default=range(0))
