"""Every heard note of a take as figures and tables see it: its sign, its sentence, its row in the table.

Early and late are the comparison's own verdicts for a written line; of an own line, beyond the spread of good soloists
(``listen.align.compare``). What a note does against its chord is ``melody.fit``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from phrasewright.app.review import InBars, Review
from phrasewright.engrave.report.content import NoteView
from phrasewright.engrave.take.played import PlayedMark, Standing, Timing
from phrasewright.listen.align.compare import SOLOISTS_S
from phrasewright.listen.findings.spelling import pitch_of
from phrasewright.listen.heard import HeardNote, HeardTechnique
from phrasewright.listen.placed import PlacedNote, Verdict
from phrasewright.listen.spot.line import rounded_midi
from phrasewright.melody.fit import Role, note_fit
from phrasewright.neck.instrument import StringFret
from phrasewright.theory.pitch import NoteName, Pitch
from phrasewright.theory.scale import SCALE_KINDS, Scale

SURE = 0.5  # a note less likely than this is drawn in dashes
PLAIN_SCALE = Scale(root=NoteName("C"), kind=SCALE_KINDS["major"])  # spells the notes of a take without a lesson
_TIMINGS = {Verdict.EARLY: Timing.EARLY, Verdict.LATE: Timing.LATE}
_WRONG = (Verdict.WRONG_PITCH, Verdict.WRONG_OCTAVE)
_IN_BARS = ("Bar", "Count", "Note", "Place", "Time", "Against the chord", "Played with", "Written line")
_FREE = ("Second", "Note", "Place", "Played with")


def scale_of(review: Review) -> Scale:
    """The scale that spells the take."""
    return PLAIN_SCALE if review.in_bars is None else review.in_bars.assignment.plan.lesson.scale


def marks_of(review: Review) -> tuple[PlayedMark, ...]:
    """One for every note heard."""
    placed = review.placed or (None,) * len(review.hearing.notes)
    verdicts = _verdicts(review)
    marks = []
    for number, (note, here, place) in enumerate(zip(review.hearing.notes, placed, review.places, strict=True)):
        pitch = None if note.is_dead else _pitch(review, note, here)
        verdict = verdicts.get(number)
        timing, standing = _timing(here, verdict), _standing(review, pitch, here)
        marks.append(
            PlayedMark(
                number=number,
                onset_s=note.onset_s,
                offset_s=note.offset_s,
                pitch_midi=note.pitch_midi,
                words=_sentence(number, note, pitch, here, place, timing, verdict),
                curve_cents=tuple(None if math.isnan(cents) else cents for cents in note.curve_cents),
                timing=timing,
                standing=standing,
                deviation_s=None if here is None else here.deviation_s,
                string=None if place is None else place.string,
                fret=_fret(note, place, review),
                is_sure=note.confidence >= SURE,
                is_dead=note.is_dead,
            )
        )
    return tuple(marks)


def columns_of(review: Review) -> tuple[str, ...]:
    """Heads of the table, after the note's number."""
    if review.in_bars is None:
        return _FREE
    return _IN_BARS if review.in_bars.comparison is not None else _IN_BARS[:-1]


def note_views(review: Review, marks: Sequence[PlayedMark]) -> Iterator[NoteView]:
    """The table's rows."""
    placed = review.placed or (None,) * len(marks)
    verdicts = _verdicts(review)
    for mark, note, here, place in zip(marks, review.hearing.notes, placed, review.places, strict=True):
        name = "dead note" if note.is_dead else _pitch(review, note, here).printed
        where, how = _place(place), _techniques(note) or "plain"
        if review.in_bars is None:
            cells: tuple[str, ...] = (f"{note.onset_s:.2f}", name, where, how)
        elif here is None:
            cells = ("", "", name, where, "", "", how, "")
        else:
            time, standing = _time_words(here, mark.timing), str(mark.standing)
            cells = (str(here.bar), here.word, name, where, time, standing, how, verdicts.get(mark.number, "added"))
        yield NoteView(
            onset_s=mark.onset_s,
            offset_s=mark.offset_s,
            words=mark.words,
            cells=cells[: len(columns_of(review))],
        )


def _verdicts(review: Review) -> dict[int, Verdict]:
    """Number of a note -> what it is against the written line."""
    if review.in_bars is None or review.in_bars.comparison is None:
        return {}
    known = {id(one.heard): one.verdict for one in review.in_bars.comparison.outcomes if one.heard is not None}
    return {at: known[id(here)] for at, here in enumerate(review.placed) if id(here) in known}


def _pitch(review: Review, note: HeardNote, here: PlacedNote | None) -> Pitch:
    midi = rounded_midi(note, review.hearing.tuning_cents or 0.0)
    return pitch_of(midi, scale_of(review), None if here is None else here.chord)


def _timing(here: PlacedNote | None, verdict: Verdict | None) -> Timing:
    if here is None:
        return Timing.UNKNOWN
    if verdict is not None and verdict not in _WRONG:
        return _TIMINGS.get(verdict, Timing.ON_TIME)
    if abs(here.deviation_s) <= SOLOISTS_S:
        return Timing.ON_TIME
    return Timing.LATE if here.deviation_s > 0.0 else Timing.EARLY


def _standing(review: Review, pitch: Pitch | None, here: PlacedNote | None) -> Standing:
    found: InBars | None = review.in_bars
    if found is None or pitch is None or here is None or here.chord is None:
        return Standing.UNKNOWN
    lesson = found.assignment.plan.lesson
    role = note_fit(pitch, here.chord, None, scale=lesson.scale, idiom=lesson.shelf.idiom).role
    if role.is_chord_tone:
        return Standing.CHORD_TONE
    return Standing.CLASH if role is Role.CLASH else Standing.TENSION


def _fret(note: HeardNote, place: StringFret | None, review: Review) -> str:
    """As tablature prints it: counted from the capo."""
    if note.is_dead:
        return "x"
    return "" if place is None else str(place.fret - review.played_on.capo)


def _place(place: StringFret | None) -> str:
    return "" if place is None else f"string {place.string}, fret {place.fret}"


def _techniques(note: HeardNote) -> str:
    """What it was played with, sizes beside: ``bend of 155 cents``."""
    return ", ".join(
        f"{mark.technique} of {abs(mark.cents):.0f} cents" if mark.technique is HeardTechnique.BEND else mark.technique
        for mark in note.marks
        if mark.confidence >= SURE and mark.technique is not HeardTechnique.DEAD
    )


def _time_words(here: PlacedNote, timing: Timing) -> str:
    size_ms = abs(1000.0 * here.deviation_s)
    side = "late" if here.deviation_s > 0.0 else "early"
    return f"{size_ms:.0f} ms {side}" if timing in (Timing.EARLY, Timing.LATE) else "on time"


def _sentence(
    number: int,
    note: HeardNote,
    pitch: Pitch | None,
    here: PlacedNote | None,
    place: StringFret | None,
    timing: Timing,
    verdict: Verdict | None,
) -> str:
    where = f"{note.onset_s:.1f} s" if here is None else f"bar {here.bar}, on {here.word}"
    time = "" if here is None else _time_words(here, timing)
    wrong = f"{verdict} against the written line" if verdict in _WRONG else ""
    name = "dead note" if pitch is None else pitch.printed
    said = (name, where, _place(place), time, _techniques(note), wrong, "" if note.confidence >= SURE else "hardly heard")
    return f"Note {number + 1}: {', '.join(word for word in said if word)}"
