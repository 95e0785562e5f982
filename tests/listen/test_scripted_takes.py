"""Planted faults are heard: forty scripted takes, one fault each, and as many clean ones (``scripted_takes.py``).

The planted fault must be among the first two of all findings. Limits and sizes were
settled on other seeds than those used here, but for one rule that docs/findings.md names.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from scripted_takes import CLEAN, FAULTS, Habits, improvised, performed, planted, random_lesson, take_of

from phrasewright.listen.align.align import TrackOffset, align
from phrasewright.listen.align.summary import timing_summary
from phrasewright.listen.finding import Finding, Tone
from phrasewright.listen.findings.findings import findings, first_things
from phrasewright.listen.findings.summary import summary

FIRST_SEED = 640_000
TAKES = 40
SAID_AS = {"outside": {"outside", "one-outside"}}  # one wrong note of the scale, or many, are told apart


def asked_for(found: tuple[Finding, ...]) -> list[str]:
    return [finding.kind for finding in found if finding.tone is Tone.WORK]


@pytest.fixture(scope="module")
def clean() -> list[tuple[Finding, ...]]:
    """Of forty clean takes, every fifth of a written line."""
    return [
        findings(take_of(Random(FIRST_SEED + number), Habits(written=True) if number % 5 == 4 else CLEAN))
        for number in range(TAKES)
    ]


def test_planted_faults_come_first() -> None:
    """In 36 of 40 takes at least, the planted fault is among the first two findings."""
    missed = []
    for number in range(TAKES):
        kind = FAULTS[number % len(FAULTS)]
        rng = Random(FIRST_SEED + 1000 + number)
        told = [finding.kind for finding in findings(take_of(rng, planted(kind, rng)))]
        if not SAID_AS.get(kind, {kind}) & set(told[:2]):
            missed.append((number, kind, told))
    assert len(missed) <= TAKES - 36, missed


def test_clean_takes_are_left_in_peace(clean: list[tuple[Finding, ...]]) -> None:
    """Nothing asks a clean player for work."""
    assert [asked_for(found) for found in clean] == [[]] * TAKES


def test_what_is_good_is_said(clean: list[tuple[Finding, ...]]) -> None:
    """A clean player hears praise first, and no more than three things."""
    for found in clean:
        first = first_things(found)
        assert first[0].tone is Tone.GOOD
        assert len(first) <= 3


def test_findings_are_whole() -> None:
    """Every finding has words, a weight and confidence in 0..1, notes that exist, and a place within the take."""
    for number, kind in enumerate(FAULTS):
        rng = Random(FIRST_SEED + 2000 + number)
        take = take_of(rng, planted(kind, rng))
        found = findings(take)
        order = [(finding.tone is not Tone.WORK, -finding.weight) for finding in found]
        assert order == sorted(order)
        for finding in found:
            assert finding.said.endswith(".")
            assert finding.try_next
            assert 0.0 < finding.weight <= 1.0
            assert 0.8 <= finding.confidence <= 1.0
            assert len(finding.notes) <= 5
            assert all(note < len(take.alignment.notes) for note in finding.notes)
            if finding.bars is not None:
                assert finding.from_s is not None
                assert finding.to_s is not None
                assert 1 <= finding.bars[0] <= finding.bars[1] <= len(take.alignment.measures)
                assert 0.0 <= finding.from_s <= finding.to_s <= take.hearing.length_s


def test_the_take_in_numbers() -> None:
    """The head of a report: bars, notes, phrases, tempo, space, letters."""
    take = take_of(Random(FIRST_SEED))
    told = summary(take)
    assert told.notes == len(take.alignment.notes)
    assert 20 <= told.bars <= 24
    assert told.tempo_bpm == pytest.approx(take.alignment.clock.tempo_bpm)
    assert told.letters == tuple(letter for letter in take.shelf if letter in told.letters)
    assert f"{told.notes} notes in {told.phrases} phrases over {told.bars} bars" in told.words
    assert f"rested for {round(100 * (told.space or 0))} %" in told.words


def test_very_uneven_takes_are_told_by_the_counts_they_fall_on() -> None:
    """Where counts are told from what is heard, notes all over the beat fall on any: five of six are given away."""
    told = 0
    for number in range(6):
        rng = Random(FIRST_SEED + 3000 + number)
        habits = planted("uneven", rng)
        lesson = random_lesson(rng)
        meant = performed(rng, lesson, improvised(rng, lesson, habits), habits)
        track = TrackOffset(offset_s=meant.alignment.clock.offset_s)
        alignment = align(meant.hearing.notes, lesson.measures, lesson.performance, track=track)
        found = findings(replace(meant, alignment=alignment, timing=timing_summary(alignment)))
        told += bool({"uneven", "scattered"} & {finding.kind for finding in found[:2]})
        assert not {"too-straight", "too-swung"} & {finding.kind for finding in found}
    assert told >= 5


def test_what_is_no_line_is_not_judged() -> None:
    """A take of chords, or with much else in it, is told nothing about its playing."""
    rng = Random(FIRST_SEED + 4000)
    take = take_of(rng, planted("no-space", rng))
    assert findings(take)
    assert findings(replace(take, hearing=replace(take.hearing, is_line=False))) == ()
