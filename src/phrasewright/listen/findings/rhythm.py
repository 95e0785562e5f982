"""Rhythm: how varied the steps in time are, whether notes leave the beat, where phrases start."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from phrasewright.listen.finding import Finding
from phrasewright.listen.findings.chance import share_above, share_below
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.tell import per_cent, tell
from phrasewright.listen.findings.thresholds import THRESHOLDS

_STEP_WORDS = {
    Fraction(1, 4): "a sixteenth",
    Fraction(1, 3): "a triplet eighth",
    Fraction(1, 2): "an eighth",
    Fraction(2, 3): "a triplet quarter",
    Fraction(1): "a quarter",
    Fraction(2): "a half note",
}


def rhythm(playing: Playing) -> Iterator[Finding]:
    """What is worth saying about the rhythm."""
    one = list(_steps(playing))
    yield from one
    if not any(finding.kind == "one-rhythm" for finding in one):
        yield from _beats_only(playing)
    yield from _same_start(playing)


def _steps(playing: Playing) -> Iterator[Finding]:
    steps = [playing.placed[b].at - playing.placed[a].at for a, b in playing.steps]
    of = len(steps)
    if of < THRESHOLDS["one-rhythm"].least:
        return
    step, times = Counter(steps).most_common(1)[0]
    words = _STEP_WORDS.get(step, "the same time")
    yield from tell(
        playing,
        "one-rhythm",
        sure=share_above(times, of, THRESHOLDS["one-rhythm"].limit),
        measured=times / of,
        size=times / of,
        unit="of the steps",
        trust=playing.trust_in_time,
        said=f"{per_cent(times / of)} % of your notes follow each other after {words}. The rhythm hardly changes.",
        try_next="Sing a rhythm first, with one long note in it, and play it on one pitch before you add others.",
    )
    yield from tell(
        playing,
        "varied",
        sure=share_below(times, of, THRESHOLDS["varied"].limit),
        measured=times / of,
        size=float(len(set(steps))),
        unit="lengths",
        trust=playing.trust_in_time,
        said="Your rhythm is varied: long and short notes take turns.",
        try_next="Take the rhythm you liked best and keep it through one whole chorus.",
    )


def _beats_only(playing: Playing) -> Iterator[Finding]:
    of = len(playing.placed)
    if of < THRESHOLDS["beats-only"].least:
        return
    on = sum(note.beat == int(note.beat) for note in playing.placed)
    yield from tell(
        playing,
        "beats-only",
        sure=share_above(on, of, THRESHOLDS["beats-only"].limit),
        measured=on / of,
        size=on / of,
        unit="of the notes",
        trust=playing.trust_in_time,
        said=f"{per_cent(on / of)} % of your notes fall on the beat.",
        try_next="Start a phrase on the and after the beat, and let the foot keep the beat for you.",
    )


def _same_start(playing: Playing) -> Iterator[Finding]:
    starts = [playing.placed[phrase[0]].beat for phrase in playing.phrases if len(phrase) > 1]
    of = len(starts)
    if of < THRESHOLDS["same-start"].least:
        return
    beat, times = Counter(starts).most_common(1)[0]
    where = f"beat {int(beat)}" if beat == int(beat) else f"the same count after beat {int(beat)}"
    yield from tell(
        playing,
        "same-start",
        sure=share_above(times, of, THRESHOLDS["same-start"].limit),
        measured=times / of,
        size=times / of,
        unit="of the phrases",
        trust=playing.trust_in_time,
        said=f"{times} of your {of} phrases start on {where}.",
        try_next="Let the beat go by once in a while, and start after it.",
    )
