"""What became of a written line: planted slips are told, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from takes import Played, bars, played, random_line, straight

from phrasewright.listen.align.align import align, expected_after
from phrasewright.listen.align.compare import compare
from phrasewright.listen.align.pairing import paired
from phrasewright.listen.heard import HeardNote
from phrasewright.listen.placed import Comparison, TakeClock, Verdict

BARS, MUSIC_S = 16, 2.2
SLIPS = (Verdict.MISSED, Verdict.WRONG_PITCH, Verdict.WRONG_OCTAVE, Verdict.LATE, Verdict.EARLY)
TAKES = 8


def slipped(heard: list[HeardNote], at: int, verdict: Verdict, rng: Random) -> list[HeardNote]:
    """The take with one note played otherwise."""
    note = heard[at]
    if verdict is Verdict.MISSED:
        return heard[:at] + heard[at + 1 :]
    late_s = {Verdict.LATE: 0.11, Verdict.EARLY: -0.11}.get(verdict, 0.0)
    steps = {Verdict.WRONG_PITCH: rng.choice((-1.0, 1.0)), Verdict.WRONG_OCTAVE: -12.0}.get(verdict, 0.0)
    moved = replace(
        note,
        onset_s=note.onset_s + late_s,
        offset_s=note.offset_s + late_s,
        pitch_midi=note.pitch_midi + steps,
    )
    return sorted([*heard[:at], moved, *heard[at + 1 :]], key=lambda one: one.onset_s)


def judged(heard: list[HeardNote], seed: int) -> Comparison:
    line = random_line(Random(seed), BARS)
    alignment = align(heard, bars(BARS), straight(96.0), written=line, expected=expected_after(MUSIC_S - 0.1))
    return compare(alignment, line)


def take_of(seed: int) -> list[HeardNote]:
    rng = Random(seed)
    return list(played(random_line(rng, BARS), Played(tempo_bpm=96.0, offset_s=MUSIC_S, jitter_s=0.008), rng))


@pytest.mark.parametrize("verdict", SLIPS)
def test_planted_slips_are_told(verdict: Verdict) -> None:
    """One slip a take: told as what it is in 7 of 8 takes at least, and at most one other note is blamed for it."""
    told = 0
    for seed in range(TAKES):
        heard = take_of(seed)
        rng = Random(1000 + seed)
        at = rng.randrange(2, len(heard) - 2)
        found = judged(slipped(heard, at, verdict, rng), seed)
        told += found.outcomes[at].verdict is verdict
        blamed = [n for n, one in enumerate(found.outcomes) if one.verdict is not Verdict.PLAYED and n != at]
        assert len(blamed) + len(found.added) <= 1, (seed, at, blamed)
    assert told >= TAKES - 1


def test_a_clean_take_is_left_in_peace() -> None:
    """Every note played, none added."""
    for seed in range(12):
        found = judged(take_of(seed), seed)
        assert found.of(Verdict.PLAYED) == list(found.outcomes)
        assert found.added == ()


def test_an_added_note_is_told() -> None:
    """A note between two written ones stands by itself."""
    heard = take_of(5)
    gap = max(range(len(heard) - 1), key=lambda at: heard[at + 1].onset_s - heard[at].onset_s)
    at_s = (heard[gap].onset_s + heard[gap + 1].onset_s) / 2.0
    extra = HeardNote(onset_s=at_s, offset_s=at_s + 0.1, pitch_midi=61.0)
    found = judged([*heard[: gap + 1], extra, *heard[gap + 1 :]], 5)
    assert [placed.note for placed in found.added] == [extra]
    assert found.of(Verdict.PLAYED) == list(found.outcomes)


def test_a_phrase_left_out_is_missed_and_the_rest_is_followed() -> None:
    """Four notes left out and everything after them two beats early: four are missed, the rest is not called early."""
    heard = take_of(9)
    jump_s = 2 * 60.0 / 96.0
    after = [replace(one, onset_s=one.onset_s - jump_s, offset_s=one.offset_s - jump_s) for one in heard[24:]]
    found = judged([*heard[:20], *after], 9)
    missed = [at for at, one in enumerate(found.outcomes) if one.verdict is Verdict.MISSED]
    assert set(range(20, 24)) <= set(missed)
    assert len(missed) <= 6
    assert not found.of(Verdict.EARLY, Verdict.LATE)


@given(seed=st.integers(0, 2000), dropped=st.sets(st.integers(0, 60), max_size=30))
@settings(max_examples=30, deadline=None)
def test_pairs_rise_in_both(seed: int, dropped: set[int]) -> None:
    """Whatever is left of a line, no written and no heard note is used twice, and order is kept."""
    line = random_line(Random(seed), 8)
    heard = [note for at, note in enumerate(played(line, Played(), Random(seed))) if at not in dropped]
    pairs = paired(line.notes, heard, TakeClock(performance=straight(110.0), offset_s=2.2))
    written, used = [pair.written for pair in pairs], [pair.heard for pair in pairs]
    assert written == sorted(set(written))
    assert used == sorted(set(used))
    assert len(pairs) == len(heard)
