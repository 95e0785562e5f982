"""Technique: where bends come to rest, how vibrato swings, notes that choke.

A bend is held against the note it was most likely meant for: the nearest note of scale or chord above the fret it
began on, within ``MEANT_CENTS``. One that comes to rest farther from any is a colour, not a mistake, and says nothing;
nor does a bend let down. Its size is taken from the note's own first pitch, so that a guitar out of tune does not spoil
it. Errors are those of medians, and never less than the scatter of one note allows.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite
from statistics import median

from phrasewright.listen.finding import Finding
from phrasewright.listen.findings.chance import mean_above, median_error, share_above
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.tell import cents_words, per_cent, tell
from phrasewright.listen.findings.thresholds import THRESHOLDS
from phrasewright.listen.heard import HeardNote, HeardTechnique, Mark
from phrasewright.listen.noticed import BELIEVED
from phrasewright.units import CENTS_PER_SEMITONE

MEANT_CENTS = 65.0
HIGHEST_BEND_SEMITONES = 4
BEND_SCATTER_CENTS, RATE_SCATTER_HZ, WIDTH_SCATTER_CENTS = 6.0, 0.4, 6.0  # of one note: by measurement of marks
BEGINNING = 5  # values of a curve in which a bend has hardly left


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """A bend that was meant for a note. at: in the line; off_cents: beyond that note positive; semitones: meant."""

    at: int
    off_cents: float
    semitones: int


def technique(playing: Playing) -> Iterator[Finding]:
    """What is worth saying about how the hands play."""
    yield from _bends(playing)
    yield from _vibrato(playing)
    yield from _choked(playing)


def bends_of(playing: Playing) -> tuple[Bend, ...]:
    """The bends up to a note of scale or chord."""
    found = (_bend(playing, at, mark) for at, mark in _marked(playing, HeardTechnique.BEND))
    return tuple(bend for bend in found if bend is not None)


def _marked(playing: Playing, technique: HeardTechnique) -> Iterator[tuple[int, Mark]]:
    for at, placed in enumerate(playing.placed):
        mark = placed.note.mark(technique)
        if mark is not None and mark.confidence >= BELIEVED:
            yield at, mark


def _bend(playing: Playing, at: int, mark: Mark) -> Bend | None:
    if mark.cents <= 0:
        return None
    tuning_cents = playing.take.hearing.tuning_cents or 0.0
    fretted = round(_first_midi(playing.placed[at].note, mark) - tuning_cents / CENTS_PER_SEMITONE)
    chord = playing.chord_under(at)

    def is_note(pitch_midi: int) -> bool:
        in_chord = chord is not None and pitch_midi % 12 in chord.pitch_classes
        return in_chord or playing.take.scale.degree_at(pitch_midi) is not None

    steps = [step for step in range(1, HIGHEST_BEND_SEMITONES + 1) if is_note(fretted + step)]
    if not steps:
        return None
    step = min(steps, key=lambda step: abs(mark.cents - CENTS_PER_SEMITONE * step))
    off_cents = mark.cents - CENTS_PER_SEMITONE * step
    return Bend(at=at, off_cents=off_cents, semitones=step) if abs(off_cents) <= MEANT_CENTS else None


def _first_midi(note: HeardNote, mark: Mark) -> float:
    """The pitch a bent note begins on: as its curve says, else as far below its rest as the bend went."""
    begins = [cents for cents in note.curve_cents[:BEGINNING] if isfinite(cents)]
    return note.pitch_midi + (median(begins) if begins else -mark.cents) / CENTS_PER_SEMITONE


def _bends(playing: Playing) -> Iterator[Finding]:
    bends = bends_of(playing)
    if len(bends) < THRESHOLDS["flat-bends"].least:
        return
    all_off = [bend.off_cents for bend in bends]
    off, error = median(all_off), median_error(all_off, BEND_SCATTER_CENTS)
    flat = off < 0
    kind, size = "flat-bends" if flat else "sharp-bends", abs(off)
    reach = "a semitone" if median(bend.semitones for bend in bends) < 1.5 else "a whole tone"
    worst = sorted(bends, key=lambda bend: bend.off_cents, reverse=not flat)
    yield from tell(
        playing,
        kind,
        sure=mean_above(size, THRESHOLDS[kind].limit, error),
        measured=size,
        size=size,
        unit="cents",
        notes=sorted(playing.told([bend.at for bend in worst[:3]])),
        said=f"Your {len(bends)} bends come to rest about {cents_words(size)} "
        f"{'below' if flat else 'above'} their note.",
        try_next=f"Play the goal on its own fret first ({'one fret' if reach == 'a semitone' else 'two frets'} up for "
        f"{reach}), keep it in your ear, then bend until the two sound the same.",
    )
    farthest = median(abs(bend.off_cents) for bend in bends)
    yield from tell(
        playing,
        "true-bends",
        sure=mean_above(THRESHOLDS["true-bends"].limit, farthest, error),
        measured=farthest,
        size=farthest,
        unit="cents",
        said=f"Your {len(bends)} bends arrive in tune.",
        try_next="Hold one of them a beat longer, and let it sing.",
    )


def _vibrato(playing: Playing) -> Iterator[Finding]:
    marks = list(_marked(playing, HeardTechnique.VIBRATO))
    if len(marks) < THRESHOLDS["slow-vibrato"].least:
        return
    rates_hz, widths = [mark.rate_hz for _, mark in marks], [mark.cents for _, mark in marks]
    rate, rate_error = median(rates_hz), median_error(rates_hz, RATE_SCATTER_HZ)
    width, width_error = median(widths), median_error(widths, WIDTH_SCATTER_CENTS)
    about = playing.told([at for at, _ in marks[:3]])

    def of(kind: str, sure: float, measured: float, unit: str, said: str, try_next: str) -> Iterator[Finding]:
        return tell(
            playing,
            kind,
            sure=sure,
            measured=measured,
            size=measured,
            unit=unit,
            said=said,
            try_next=try_next,
            notes=about,
        )

    yield from of(
        "slow-vibrato",
        mean_above(THRESHOLDS["slow-vibrato"].limit, rate, rate_error),
        rate,
        "Hz",
        f"Your vibrato swings slowly, about {rate:.1f} times a second.",
        "Count four small swings to the beat at 75 beats a minute, and keep them even.",
    )
    yield from of(
        "fast-vibrato",
        mean_above(rate, THRESHOLDS["fast-vibrato"].limit, rate_error),
        rate,
        "Hz",
        f"Your vibrato swings fast, about {rate:.1f} times a second, so a long note sounds nervous.",
        "Let the note ring straight for a moment, then begin to swing slowly and evenly.",
    )
    yield from of(
        "wide-vibrato",
        mean_above(width, THRESHOLDS["wide-vibrato"].limit, width_error),
        width,
        "cents",
        f"Your vibrato is wide, some {width:.0f} cents to either side: the note itself gets lost in it.",
        "Begin with a small swing that a listener just notices, and widen it only at the end of the note.",
    )


def _choked(playing: Playing) -> Iterator[Finding]:
    notes = [placed for placed in playing.take.alignment.notes if placed.note.confidence >= BELIEVED]
    of = len(notes)
    if of < THRESHOLDS["choked"].least or HeardTechnique.DEAD in playing.take.asked:
        return
    dead = sum(placed.note.is_dead for placed in notes)
    yield from tell(
        playing,
        "choked",
        sure=share_above(dead, of, THRESHOLDS["choked"].limit),
        measured=dead / of,
        size=float(dead),
        unit="notes",
        said=f"{dead} of {of} notes ({per_cent(dead / of)} %) hardly sound.",
        try_next="Put the finger close behind the fret, slowly, until the note rings; it takes less force there. "
        "Stop if it hurts.",
    )
