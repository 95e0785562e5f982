"""The written line: what of it was missed, changed, added or out of place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from phrasewright.listen.finding import Finding
from phrasewright.listen.findings.chance import share_above
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.tell import Where, tell
from phrasewright.listen.findings.thresholds import THRESHOLDS
from phrasewright.listen.placed import Comparison, Verdict, WrittenOutcome
from phrasewright.score.model import Measure


def written_line(playing: Playing) -> Iterator[Finding]:
    """What is worth saying about a take against its written line."""
    comparison = playing.take.comparison
    if comparison is None or len(comparison.outcomes) < THRESHOLDS["line-played"].least:
        return
    yield from _missed(playing, comparison)
    yield from _wrong(playing, comparison)
    yield from _octave(playing, comparison)
    yield from _out_of_place(playing, comparison)
    yield from _added(playing, comparison)
    yield from _played(playing, comparison)


def _missed(playing: Playing, comparison: Comparison) -> Iterator[Finding]:
    missed, of = comparison.of(Verdict.MISSED), len(comparison.outcomes)
    yield from _share(
        playing,
        "missed",
        missed,
        of,
        said=f"{len(missed)} of the {of} written notes did not come{_most_in(playing, missed)}.",
        try_next="Take one of those bars alone, at half the tempo, until none is left out; then put it back.",
    )


def _wrong(playing: Playing, comparison: Comparison) -> Iterator[Finding]:
    wrong, of = comparison.of(Verdict.WRONG_PITCH), len(comparison.outcomes)
    yield from _share(
        playing,
        "wrong-notes",
        wrong,
        of,
        said=f"{len(wrong)} of the {of} written notes came as another note{_most_in(playing, wrong)}{_example(wrong)}.",
        try_next="Say the names of the notes in those bars aloud, then play them slowly while you say them.",
    )


def _octave(playing: Playing, comparison: Comparison) -> Iterator[Finding]:
    octave, of = comparison.of(Verdict.WRONG_OCTAVE), len(comparison.outcomes)
    yield from _share(
        playing,
        "wrong-octave",
        octave,
        of,
        said=f"{len(octave)} of the {of} written notes came in another octave{_most_in(playing, octave)}.",
        try_next="Look at string and fret in the tablature for those notes.",
    )


def _out_of_place(playing: Playing, comparison: Comparison) -> Iterator[Finding]:
    early, late, of = comparison.of(Verdict.EARLY), comparison.of(Verdict.LATE), len(comparison.outcomes)
    how = f"{len(early)} early, {len(late)} late" if early and late else ("early" if early else "late")
    yield from _share(
        playing,
        "out-of-place",
        [*early, *late],
        of,
        said=f"{len(early) + len(late)} of the {of} written notes came out of their place ({how}).",
        try_next="Clap the rhythm of the line with the click, counting aloud, before you play it again.",
    )


def _added(playing: Playing, comparison: Comparison) -> Iterator[Finding]:
    added, of = len(comparison.added), len(comparison.outcomes)
    bars = [note.bar for note in comparison.added]
    times_s = [note.note.onset_s for note in comparison.added]
    yield from tell(
        playing,
        "added",
        sure=share_above(min(added, of), of, THRESHOLDS["added"].limit),
        measured=added / of,
        size=float(added),
        unit="notes",
        trust=playing.trust_in_time,
        where=Where(bars=(min(bars), max(bars)), from_s=min(times_s), to_s=max(times_s)) if bars else None,
        said=f"{added} notes came that are not written.",
        try_next="Let the other strings be silent: rest the free fingers on them lightly.",
    )


def _played(playing: Playing, comparison: Comparison) -> Iterator[Finding]:
    played, of = comparison.of(Verdict.PLAYED), len(comparison.outcomes)
    yield from _share(
        playing,
        "line-played",
        played,
        of,
        said=f"{len(played)} of the {of} written notes came just as they stand.",
        try_next="Now play the line once from memory.",
        somewhere=False,
    )


def _share(
    playing: Playing,
    kind: str,
    outcomes: Sequence[WrittenOutcome],
    of: int,
    *,
    said: str,
    try_next: str,
    somewhere: bool = True,
) -> Iterator[Finding]:
    share = len(outcomes) / of
    return tell(
        playing,
        kind,
        sure=share_above(len(outcomes), of, THRESHOLDS[kind].limit),
        measured=share,
        size=float(len(outcomes)),
        unit="notes",
        said=said,
        try_next=try_next,
        trust=playing.trust_in_time,
        where=_where(playing, outcomes) if somewhere and outcomes else None,
    )


def _where(playing: Playing, outcomes: Sequence[WrittenOutcome]) -> Where:
    bars = [bar.number for bar in _bars(playing, outcomes)]
    seconds_at = playing.take.alignment.clock.seconds_at
    from_s = min(seconds_at(outcome.written.onset) for outcome in outcomes)
    to_s = max(seconds_at(outcome.written.end) for outcome in outcomes)
    return Where(bars=(min(bars), max(bars)) if bars else None, from_s=max(0.0, from_s), to_s=max(0.0, to_s))


def _bars(playing: Playing, outcomes: Sequence[WrittenOutcome]) -> list[Measure]:
    measures = playing.take.alignment.measures
    return [bar for outcome in outcomes for bar in measures if bar.onset <= outcome.written.onset < bar.end]


def _most_in(playing: Playing, outcomes: Sequence[WrittenOutcome]) -> str:
    """``, most of them in bar 3`` where that is so."""
    bars = [bar.number for bar in _bars(playing, outcomes)]
    bar = max(bars, key=bars.count, default=0)
    return f", most of them in bar {bar}" if len(bars) > 1 and 2 * bars.count(bar) > len(bars) else ""


def _example(outcomes: Sequence[WrittenOutcome]) -> str:
    """The first, by the name of the note that was meant."""
    return f"; the first should be {outcomes[0].written.pitch.name.printed}" if outcomes else ""
