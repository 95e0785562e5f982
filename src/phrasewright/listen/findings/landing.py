"""Landing notes: what the last notes of phrases are against the chords under them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from phrasewright.listen.finding import Finding
from phrasewright.listen.findings.chance import share_above, share_below
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.spelling import pitch_of
from phrasewright.listen.findings.tell import tell
from phrasewright.listen.findings.thresholds import THRESHOLDS
from phrasewright.melody.fit import NoteFit, Role, note_fit
from phrasewright.theory.chord import Chord


def landing(playing: Playing) -> Iterator[Finding]:
    """What is worth saying about the ends of phrases."""
    landed = landings(playing)
    if len(landed) < THRESHOLDS["few-landings"].least:
        return
    few = list(_few(playing, landed))
    yield from few or _clashes(playing, landed)
    yield from _good(playing, landed)
    yield from _same(playing)


def landings(playing: Playing) -> dict[int, NoteFit]:
    """The last notes of phrases that have a chord under them, by position in the line."""
    return {at: _fit(playing, at, chord) for at in playing.last_notes if (chord := playing.chord_under(at)) is not None}


def _fit(playing: Playing, at: int, chord: Chord) -> NoteFit:
    take = playing.take
    return note_fit(pitch_of(playing.pitches[at], take.scale, chord), chord, None, scale=take.scale, idiom=take.idiom)


def _few(playing: Playing, landed: dict[int, NoteFit]) -> Iterator[Finding]:
    away = [at for at, fit in landed.items() if not fit.role.is_chord_tone]
    at_home, of = len(landed) - len(away), len(landed)
    yield from tell(
        playing,
        "few-landings",
        sure=share_below(at_home, of, THRESHOLDS["few-landings"].limit),
        measured=at_home / of,
        size=at_home / of,
        unit="of the phrases",
        notes=playing.told(away),
        trust=playing.trust_in_time,
        said=f"{at_home} of your {of} phrases {'ends' if at_home == 1 else 'end'} on a note of the chord. "
        + (f"The others are left in the air, for example on {landed[away[0]].words}." if away else ""),
        try_next="Find the root and the third of each chord first, and let every phrase come to rest on one of them.",
    )


def _clashes(playing: Playing, landed: dict[int, NoteFit]) -> Iterator[Finding]:
    clashes = [at for at, fit in landed.items() if fit.role is Role.CLASH]
    of = len(landed)
    yield from tell(
        playing,
        "clash-endings",
        sure=share_above(len(clashes), of, THRESHOLDS["clash-endings"].limit),
        measured=len(clashes) / of,
        size=float(len(clashes)),
        unit="phrases",
        notes=playing.told(clashes),
        trust=playing.trust_in_time,
        said=f"{len(clashes)} of your {of} phrases end on a note that rubs against the chord"
        + (f", for example {landed[clashes[0]].words}." if clashes else "."),
        try_next="When an ending rubs, slide to the nearest note of the chord: it is never more than two frets away.",
    )


def _good(playing: Playing, landed: dict[int, NoteFit]) -> Iterator[Finding]:
    at_home, of = sum(fit.role.is_chord_tone for fit in landed.values()), len(landed)
    yield from tell(
        playing,
        "landings",
        sure=share_above(at_home, of, THRESHOLDS["landings"].limit),
        measured=at_home / of,
        size=at_home / of,
        unit="of the phrases",
        trust=playing.trust_in_time,
        said=f"{at_home} of your {of} phrases come to rest on a note of the chord: one hears the chords in your line.",
        try_next="Try the third of the chord as an ending: it says most about it.",
    )


def _same(playing: Playing) -> Iterator[Finding]:
    ends = [playing.pitches[at] % 12 for at in playing.last_notes]
    if len(ends) < THRESHOLDS["same-landing"].least:
        return
    commonest, times = Counter(ends).most_common(1)[0]
    name = pitch_of(commonest + 60, playing.take.scale).name.printed
    yield from tell(
        playing,
        "same-landing",
        sure=share_above(times, len(ends), THRESHOLDS["same-landing"].limit),
        measured=times / len(ends),
        size=times / len(ends),
        unit="of the phrases",
        said=f"{times} of your {len(ends)} phrases end on {name}.",
        try_next=f"Keep {name} for the very last phrase, and end the others elsewhere.",
    )
