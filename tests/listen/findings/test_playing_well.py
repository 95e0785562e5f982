"""Timing, technique, tuning, the written line: figures by hand, and what is left unsaid."""

from __future__ import annotations

from fractions import Fraction
from itertools import cycle

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lines import note, playing, take

from phrasewright.listen.finding import Finding, Tone
from phrasewright.listen.findings.findings import findings
from phrasewright.listen.findings.technique import bends_of, technique
from phrasewright.listen.findings.timing import soloists_at, timing
from phrasewright.listen.findings.tuning import tuning
from phrasewright.listen.findings.written_line import written_line
from phrasewright.listen.heard import HeardTechnique, Mark
from phrasewright.listen.placed import Comparison, OffsetSource, PlacedNote, TimingSummary, Verdict, WrittenOutcome
from phrasewright.neck.instrument import StringFret
from phrasewright.score.model import Note
from phrasewright.theory.pitch import Pitch

A, C, D, E, G = 57, 60, 62, 64, 67
STEADY = {"spread_s": 0.012, "drift_percent": 0.0, "swing_ratio": None, "notes": 64}


def eighths(count: int = 64) -> list[PlacedNote]:
    return [note(pitch, at / 2) for at, pitch in zip(range(count), cycle((A, C, D, E, G, E, D)), strict=False)]


def told(
    notes: list[PlacedNote], *, source: OffsetSource = OffsetSource.TRACK, swings: float = 1.0, **changes: object
) -> set[str]:
    summary = TimingSummary(**{"bias_s": 0.0, **STEADY, **changes})  # type: ignore[arg-type]
    return {found.kind for found in timing(playing(notes, source=source, timing=summary, groove_swing_ratio=swings))}


# --- timing


def test_late_means_later_than_soloists() -> None:
    """At 120 soloists are 31 ms late; three just noticeable shifts of an eighth (6.25 ms) more are 50 ms."""
    assert soloists_at(120.0) == (0.031, 0.034)
    assert told(eighths(), bias_s=0.045) == {"steady"}
    assert told(eighths(), bias_s=0.055) == {"late", "steady"}
    assert told(eighths(), bias_s=-0.015) == {"steady"}
    assert told(eighths(), bias_s=-0.025) == {"early", "steady"}


@pytest.mark.parametrize("source", [OffsetSource.GRID, OffsetSource.LINE])
def test_a_late_recording_is_not_a_late_player(source: OffsetSource) -> None:
    """Where the notes themselves told when the music begins, being late or early is not said."""
    assert told(eighths(), source=source, bias_s=0.2) == {"steady"}


def test_uneven_and_steady_are_told_by_soloists_spread() -> None:
    """At 120: 34 ms is usual, 44 ms the limit, and what lies near either is not said."""
    assert told(eighths(), spread_s=0.060) == {"uneven"}
    assert told(eighths(), spread_s=0.040) == set()
    assert told(eighths(), spread_s=0.020) == {"steady"}


@given(st.floats(-12.0, 12.0))
def test_drift_is_told_from_three_per_cent_on(drift_percent: float) -> None:
    """Neither way within 2.9 %, the right way beyond 3.5 %."""
    kinds = told(eighths(), drift_percent=drift_percent) - {"steady"}
    if abs(drift_percent) < 2.9:
        assert kinds == set()
    if abs(drift_percent) > 3.5:
        assert kinds == {"rushing" if drift_percent > 0 else "dragging"}


def test_swing_is_measured_against_track_and_soloists() -> None:
    """Even eighths over a shuffle are told, those of soloists (1.3) and of the track are not."""
    assert "too-straight" in told(eighths(), swing_ratio=1.0, swings=2.0)
    for ratio in (1.3, 1.6, 2.0):
        assert not {"too-straight", "too-swung"} & told(eighths(), swing_ratio=ratio, swings=2.0)
    assert "too-swung" in told(eighths(), swing_ratio=2.0, swings=1.0)
    assert "too-straight" not in told(eighths(), swing_ratio=1.0, swings=1.0)


def test_one_cause_is_told_once() -> None:
    """Straight eighths over a shuffle come early and spread; only the swing is told."""
    assert told(eighths(), swing_ratio=1.0, swings=2.0, bias_s=-0.06, spread_s=0.07) == {"too-straight"}


def test_a_large_spread_is_no_swing() -> None:
    """The same middles with notes 90 ms to either side of them: uneven, not straight."""
    wide = [
        note(placed.note.pitch_midi, placed.at, late_s=0.2 + (-0.09, 0.09)[at // 2 % 2])
        for at, placed in enumerate(eighths())
    ]
    assert told(wide, swing_ratio=1.0, swings=2.0, spread_s=0.13) == {"uneven"}


def test_scattered_notes_are_told_as_such() -> None:
    """Notes on any sixteenth, spread as chance has it: no swing, no lateness; on eighths they are only steady."""
    strewn = [note(A, Fraction(2 * at + at % 2, 4)) for at in range(64)]
    assert told(strewn, spread_s=0.04, bias_s=0.1, swing_ratio=1.0, swings=2.0) == {"scattered"}
    assert "scattered" not in told(eighths(), spread_s=0.04)


def test_unknown_timing_says_nothing() -> None:
    """Figures that too few notes gave are None, and so is what is said."""
    assert told(eighths(), bias_s=None, spread_s=None, drift_percent=None) == set()


# --- technique


def bent(cents: float, goal_midi: float = E) -> PlacedNote:
    return note(goal_midi, 0, quarters=2.0, marks=(Mark(technique=HeardTechnique.BEND, cents=cents, confidence=0.9),))


@pytest.mark.parametrize(
    ("cents", "reached_midi", "off", "semitones"),
    [
        (200.0, E, 0.0, 2),  # from D to E
        (165.0, E - 0.35, -35.0, 2),
        (130.0, E - 0.7, None, None),  # a colour between two notes of the scale
        (300.0, C, 0.0, 3),  # from A to C
        (340.0, C + 0.4, 40.0, 3),
        (-200.0, D, None, None),  # let down
    ],
)
def test_bends_are_held_against_the_note_they_are_meant_for(
    cents: float, reached_midi: float, off: float | None, semitones: int | None
) -> None:
    """Goals are notes of scale and chord."""
    found = bends_of(playing([bent(cents, reached_midi)]))
    assert [(round(bend.off_cents, 6), bend.semitones) for bend in found] == ([] if off is None else [(off, semitones)])


def test_a_bend_is_read_from_its_own_start() -> None:
    """On a guitar 40 cents low, a true bend stays true."""
    low = bent(200.0, E - 0.4)
    hearing = take([low]).hearing
    assert [bend.off_cents for bend in bends_of(playing([low], hearing=hearing))] == [0.0]


def marked(marks: list[Mark]) -> set[str]:
    notes = [note(A, at, quarters=0.9, marks=(mark,)) for at, mark in enumerate(marks)]
    return {found.kind for found in technique(playing(notes))}


@pytest.mark.parametrize(
    ("width", "rate_hz", "kinds"),
    [(25.0, 5.5, set()), (90.0, 5.5, {"wide-vibrato"}), (25.0, 2.9, {"slow-vibrato"}), (25.0, 9.5, {"fast-vibrato"})],
)
def test_vibrato(width: float, rate_hz: float, kinds: set[str]) -> None:
    """Four to eight swings a second and half a semitone to either side are left alone."""
    mark = Mark(technique=HeardTechnique.VIBRATO, cents=width, rate_hz=rate_hz)
    assert marked([mark] * 5) == kinds
    assert marked([mark] * 3) == set()


def test_dead_notes_are_told_unless_asked_for() -> None:
    """Ten of forty; where the lesson asks for dead notes, they are no fault."""
    dead = (Mark(technique=HeardTechnique.DEAD),)
    notes = [note(A, at / 2, marks=dead if at % 4 == 0 else ()) for at in range(40)]
    assert "choked" in {found.kind for found in findings(take(notes))}
    assert "choked" not in {found.kind for found in findings(take(notes, asked=frozenset({HeardTechnique.DEAD})))}


# --- tuning


def strung(off_cents: float = 0.0, sour_cents: float = 0.0) -> list[PlacedNote]:
    """Quarters on strings 1 to 4; string 2 is sour."""
    places = (StringFret(1, 5), StringFret(2, 5), StringFret(3, 5), StringFret(4, 5))
    pitches = (69, 64, 60, 55)
    return [
        note(
            pitches[at % 4] + (off_cents + (sour_cents if at % 4 == 1 else 0.0) + (at % 3 - 1)) / 100.0,
            at,
            quarters=0.9,
            place=places[at % 4],
        )
        for at in range(32)
    ]


def heard_tuning(notes: list[PlacedNote], **changes: object) -> dict[str, Finding]:
    return {found.kind: found for found in tuning(playing(notes, **changes))}


def test_the_whole_guitar_low() -> None:
    """Thirty cents low, all strings alike; in tune is praised."""
    found = heard_tuning(strung(-30.0))
    assert set(found) == {"out-of-tune"}
    assert found["out-of-tune"].size == pytest.approx(30.0, abs=1.0)
    assert "low, all strings alike" in found["out-of-tune"].said
    assert set(heard_tuning(strung())) == {"in-tune"}


def test_another_concert_pitch_is_no_fault() -> None:
    """A lesson at 432 Hz is 31.8 cents low, and so is a guitar tuned for it."""
    assert set(heard_tuning(strung(-31.8), a4_hz=432.0)) == {"in-tune"}


def test_one_string_sour() -> None:
    """The second string 20 cents sharp is named, with its note where the tuning is known."""
    found = heard_tuning(
        strung(sour_cents=20.0), open_strings=tuple(Pitch.parse(name) for name in ("E4", "B3", "G3", "D3"))
    )
    assert "string-off" in found
    assert found["string-off"].said.startswith("String 2 (B) seems about")
    assert "down a little" in found["string-off"].try_next


# --- the written line


def compared(verdicts: str, added: int = 0) -> dict[str, Finding]:
    """A line of quarters, one letter a note: p played, m missed, w wrong, o octave, e early, l late."""
    meanings = dict(
        zip(
            "pmwoel",
            (Verdict.PLAYED, Verdict.MISSED, Verdict.WRONG_PITCH, Verdict.WRONG_OCTAVE, Verdict.EARLY, Verdict.LATE),
            strict=True,
        )
    )
    notes = [note(A, at) for at in range(len(verdicts))]
    outcomes = tuple(
        WrittenOutcome(
            written=Note(onset=Fraction(at), duration=Fraction(1), pitch=Pitch.parse("A3")),
            verdict=meanings[letter],
            heard=None if letter == "m" else notes[at],
        )
        for at, letter in enumerate(verdicts)
    )
    extra = tuple(note(E, at + 0.5) for at in range(added))
    return {
        found.kind: found
        for found in written_line(playing(notes, comparison=Comparison(outcomes=outcomes, added=extra)))
    }


def test_a_line_as_it_stands() -> None:
    """Everything played is praised, and one slip in forty changes nothing."""
    assert set(compared("p" * 40)) == {"line-played"}
    assert set(compared("p" * 39 + "m")) == {"line-played"}


@pytest.mark.parametrize(
    ("letter", "kind"), [("m", "missed"), ("w", "wrong-notes"), ("o", "wrong-octave"), ("l", "out-of-place")]
)
def test_what_went_wrong_has_its_bar(letter: str, kind: str) -> None:
    """Twelve notes of forty, all in bars 3 to 5."""
    found = compared("p" * 8 + letter * 12 + "p" * 20)
    assert set(found) - {"line-played"} == {kind}
    assert found[kind].size == 12.0
    assert found[kind].bars == (3, 5)
    assert found[kind].tone is Tone.WORK


def test_added_notes() -> None:
    """Ten notes that are not written, in bars 1 to 3."""
    found = compared("p" * 40, added=10)
    assert found["added"].size == 10.0
    assert found["added"].bars == (1, 3)


def test_a_line_says_nothing_of_ideas() -> None:
    """The line settles pitches, rhythm and rests: only time, hands, tuning and the line itself are spoken of."""
    outcomes = tuple(
        WrittenOutcome(
            written=Note(onset=Fraction(at, 2), duration=Fraction(1, 2), pitch=Pitch.parse("A3")),
            verdict=Verdict.PLAYED,
            heard=heard,
        )
        for at, heard in enumerate(eighths())
    )
    found = findings(take(eighths(), comparison=Comparison(outcomes=outcomes, added=())))
    assert {finding.topic.value for finding in found} <= {"timing", "technique", "tuning", "the written line"}
