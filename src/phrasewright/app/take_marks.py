"""Every note of a take as its figures show it: early or late, what it does against the chord, all of it in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from phrasewright.app.review import Review
from phrasewright.engrave.take.played import PlayedMark, Standing, Timing
from phrasewright.listen.align.compare import told_after_s
from phrasewright.listen.findings.spelling import pitch_of
from phrasewright.listen.heard import HeardNote, HeardTechnique, Mark
from phrasewright.listen.noticed import BELIEVED
from phrasewright.listen.placed import PlacedNote, Verdict
from phrasewright.listen.spot.line import rounded_midi
from phrasewright.melody.fit import Role, note_fit
from phrasewright.theory.pitch import NoteName, Pitch
from phrasewright.theory.scale import SCALE_KINDS, Scale

STANDINGS = {Role.CLASH: Standing.CLASH, Role.TENSION: Standing.TENSION, Role.APPROACH: Standing.TENSION}
VERDICTS = {Verdict.PLAYED: Timing.ON_TIME, Verdict.EARLY: Timing.EARLY, Verdict.LATE: Timing.LATE}
NO_KEY = Scale(NoteName.parse("C"), SCALE_KINDS["major"])  # for the names of notes where no lesson says a scale


def played_marks(review: Review) -> tuple[PlayedMark, ...]:
    """One mark for every note heard, in order."""
    notes = review.hearing.notes
    pitches = note_pitches(review)
    timings = _timings(review)
    return tuple(
        PlayedMark(
            number=number,
            onset_s=note.onset_s,
            offset_s=note.offset_s,
            pitch_midi=note.pitch_midi,
            words=_words(review, number, pitches[number], timings[number]),
            curve_cents=tuple(None if math.isnan(cents) else cents for cents in note.curve_cents),
            timing=timings[number],
            standing=_standing(review, number, pitches),
            deviation_s=None if (here := _placed(review, number)) is None else here.deviation_s,
            string=None if (place := review.places[number]) is None else place.string,
            fret="X" if note.is_dead else "" if place is None else str(place.fret - review.played_on.capo),
            is_sure=note.confidence >= BELIEVED,
            is_dead=note.is_dead,
        )
        for number, note in enumerate(notes)
    )


def note_pitches(review: Review) -> tuple[Pitch, ...]:
    """The pitch of every note heard, spelled in the lesson's scale and over its chord; a dead note's means nothing."""
    scale = NO_KEY if review.in_bars is None else review.in_bars.assignment.plan.lesson.scale
    cents = review.hearing.tuning_cents or 0.0
    return tuple(
        pitch_of(rounded_midi(note, cents), scale, None if (here := _placed(review, number)) is None else here.chord)
        for number, note in enumerate(review.hearing.notes)
    )


def technique_words(note: HeardNote) -> str:
    """``bend of 2 semitones, vibrato``; empty for a plain note."""
    return ", ".join(_technique(mark) for mark in note.marks)


def timing_words(mark: PlayedMark) -> str:
    """``97 ms early``; ``on time``; empty where the bars are not known."""
    if mark.timing is Timing.UNKNOWN or mark.deviation_s is None:
        return ""
    return str(mark.timing) if mark.timing is Timing.ON_TIME else f"{abs(1000 * mark.deviation_s):.0f} ms {mark.timing}"


def place_words(here: PlacedNote | None) -> str:
    """``bar 2, count 3``, ``bar 2, & of 3``; empty where the bars are not known."""
    if here is None:
        return ""
    beat = int(here.beat)
    return f"bar {here.bar}, " + (f"count {here.word}" if here.word == str(beat) else f"{here.word} of {beat}")


def _placed(review: Review, number: int) -> PlacedNote | None:
    return review.placed[number] if review.placed else None


def _timings(review: Review) -> list[Timing]:
    """By the verdict on a written note where there is one, else by what is told of any note."""
    found = [Timing.UNKNOWN] * len(review.hearing.notes)
    onsets_s = [note.onset_s for note in review.hearing.notes]
    gaps_s = [math.inf, *(after - before for before, after in pairwise(onsets_s))]
    for number, here in enumerate(review.placed):
        if here is not None:
            limit_s = told_after_s(min(gaps_s[number], 1.0))
            late, early = here.deviation_s > limit_s, here.deviation_s < -limit_s
            found[number] = Timing.LATE if late else Timing.EARLY if early else Timing.ON_TIME
    for number, verdict in review.verdicts.items():
        if verdict in VERDICTS:
            found[number] = VERDICTS[verdict]
    return found


def _standing(review: Review, number: int, pitches: Sequence[Pitch]) -> Standing:
    here = _placed(review, number)
    if review.in_bars is None or here is None or here.chord is None or here.note.is_dead:
        return Standing.UNKNOWN
    lesson = review.in_bars.assignment.plan.lesson
    following = pitches[number + 1] if number + 1 < len(pitches) else None
    role = note_fit(pitches[number], here.chord, following, scale=lesson.scale, idiom=lesson.shelf.idiom).role
    return STANDINGS.get(role, Standing.CHORD_TONE)


def _words(review: Review, number: int, pitch: Pitch, timing: Timing) -> str:
    note, here, place = review.hearing.notes[number], _placed(review, number), review.places[number]
    off = "" if here is None or timing not in (Timing.EARLY, Timing.LATE) else f"{abs(1000 * here.deviation_s):.0f} ms "
    parts = (
        place_words(here) or f"at {note.onset_s:.1f} s",
        "dead note" if note.is_dead else pitch.printed,
        "" if place is None else f"string {place.string} fret {place.fret}",
        "" if timing is Timing.UNKNOWN else f"{off}{timing}",
        "" if note.is_dead else technique_words(note),
        "" if note.confidence >= BELIEVED else "hardly heard",
    )
    words = ", ".join(part for part in parts if part)
    return words[:1].upper() + words[1:]


def _technique(mark: Mark) -> str:
    if mark.technique is HeardTechnique.BEND:
        return f"bend of {mark.cents / 100:.1f} semitones"
    if mark.technique is HeardTechnique.SLIDE:
        return "slide up" if mark.cents > 0 else "slide down"
    return str(mark.technique)
