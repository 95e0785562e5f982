"""Motifs of the shelf: how many, how mixed, in what order, and whether ideas come back changed."""

from __future__ import annotations

from collections.abc import Iterator
from math import log, sqrt

from phrasewright.listen.finding import Finding
from phrasewright.listen.findings.chance import mean_above, share_above, share_below
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.tell import per_cent, tell
from phrasewright.listen.findings.thresholds import THRESHOLDS
from phrasewright.listen.spot.use import MotifUse
from phrasewright.listen.spotted import Spotting

RECITABLE = 3  # letters of a shelf that have an order


def motifs(playing: Playing) -> Iterator[Finding]:
    """What is worth saying about the motifs of the shelf."""
    use = playing.motif_use
    if use is None or len(use.shelf) < 2:
        return
    one = list(_one_motif(playing, use))
    yield from one
    if not one:
        yield from _recited(playing, use)
        yield from _mixed(playing, use)
    yield from _off_shelf(playing, use)
    yield from _unused(playing, use)


def development(playing: Playing) -> Iterator[Finding]:
    """What is worth saying about ideas that come back, and how."""
    spotting, use = playing.take.spotting, playing.motif_use
    if spotting is None or use is None:
        return
    yield from _returns(playing, spotting)
    changed, of = sum(bool(sighting.changes) for sighting in spotting.sightings), len(spotting.sightings)
    if of >= THRESHOLDS["developed"].least:
        yield from tell(
            playing,
            "developed",
            sure=share_above(changed, of, THRESHOLDS["developed"].limit),
            measured=use.changed_share,
            size=float(changed),
            unit="motifs",
            said=f"{changed} of your {of} motifs came back changed. That is how a solo grows.",
            try_next="Let the last chorus lean on the change you liked best.",
        )
    if of >= THRESHOLDS["never-changed"].least and not changed:
        yield from tell(
            playing,
            "never-changed",
            sure=1.0,
            measured=0.0,
            size=0.0,
            unit="motifs",
            said="Each motif came as it stands on the shelf every time.",
            try_next="Play a motif twice, and turn its last note somewhere else the second time.",
        )


def _one_motif(playing: Playing, use: MotifUse) -> Iterator[Finding]:
    letter, times = max(use.times.items(), key=lambda item: item[1])
    of = len(use.order)
    if of < THRESHOLDS["one-motif"].least:
        return
    others = [other for other in use.shelf if other != letter]
    yield from tell(
        playing,
        "one-motif",
        sure=share_above(times, of, THRESHOLDS["one-motif"].limit),
        measured=times / of,
        size=times / of,
        unit="of the motifs",
        said=f"{times} of the {of} motifs you played are motif {letter}. You know it well now.",
        try_next=f"Answer {letter} with motif {others[0]} each time you have played it.",
    )


def _recited(playing: Playing, use: MotifUse) -> Iterator[Finding]:
    steps = len(use.order) - 1
    if len(use.shelf) < RECITABLE or steps < THRESHOLDS["recited"].least:
        return
    row = round(use.recited_share * steps)
    yield from tell(
        playing,
        "recited",
        sure=share_above(row, steps, THRESHOLDS["recited"].limit),
        measured=use.recited_share,
        size=use.recited_share,
        unit="of the steps",
        said=f"You went through the motifs in the order of the shelf: {row} of {steps} times the next one followed.",
        try_next="Draw the order from slips of paper before each chorus, and play what you drew.",
    )


def _mixed(playing: Playing, use: MotifUse) -> Iterator[Finding]:
    of = len(use.order)
    recites = use.recited_share > THRESHOLDS["recited"].limit
    if of < THRESHOLDS["mixed"].least or recites:
        return
    sure = mean_above(use.evenness, THRESHOLDS["mixed"].limit, _even_error(len(use.shelf), of))
    played = sum(times > 0 for times in use.times.values())
    yield from tell(
        playing,
        "mixed",
        sure=sure,
        measured=use.evenness,
        size=float(played),
        unit="motifs",
        said=f"You mixed {played} motifs freely.",
        try_next="Now choose two of them for the first chorus, the others for the next.",
    )


def _even_error(letters: int, of: int) -> float:
    """Standard error of an evenness: 2 n ln m (1 - evenness) is chi-square with m - 1 degrees (Wilks 1938)."""
    return sqrt((letters - 1) / 2.0) / (of * log(letters))


def _off_shelf(playing: Playing, use: MotifUse) -> Iterator[Finding]:
    notes = playing.spottable
    if notes < THRESHOLDS["off-shelf"].least:
        return
    within = round(use.notes_share * notes)
    yield from tell(
        playing,
        "off-shelf",
        sure=share_below(within, notes, THRESHOLDS["off-shelf"].limit),
        measured=use.notes_share,
        size=use.notes_share,
        unit="of the notes",
        said=(f"Only {percent} %" if (percent := per_cent(use.notes_share)) else "None")
        + " of your notes belong to motifs of this lesson.",
        try_next=f"Begin every phrase with motif {use.shelf[0]}, then go on as you like.",
    )


def _unused(playing: Playing, use: MotifUse) -> Iterator[Finding]:
    if use.unused and len(use.order) >= THRESHOLDS["unused"].least:
        names = " and ".join(use.unused) if len(use.unused) < 3 else f"{len(use.unused)} of them"
        yield from tell(
            playing,
            "unused",
            sure=1.0,
            measured=float(len(use.unused)),
            size=float(len(use.unused)),
            unit="motifs",
            said=f"Of the motifs on the shelf, {names} did not come.",
            try_next=f"Start the next take with motif {use.unused[0]}.",
        )


def _returns(playing: Playing, spotting: Spotting) -> Iterator[Finding]:
    notes = playing.spottable
    if notes < THRESHOLDS["nothing-returns"].least:
        return
    back = _returning(spotting)
    yield from tell(
        playing,
        "nothing-returns",
        sure=share_below(back, notes, THRESHOLDS["nothing-returns"].limit),
        measured=back / notes,
        size=back / notes,
        unit="of the notes",
        said="Hardly any idea of yours came back: each new one pushed the last away.",
        try_next="Play your first idea again after four bars, as you remember it.",
    )


def _returning(spotting: Spotting) -> int:
    """How many notes lie in ideas that were heard twice at least, shelf motifs or the player's own."""
    letters = [sighting.letter for sighting in spotting.sightings]
    back = {note for sighting in spotting.sightings if letters.count(sighting.letter) > 1 for note in sighting.notes}
    for own in spotting.own:
        back |= {place + step for place in own.places for step in range(len(own.intervals) + 1)}
    return len(back)
