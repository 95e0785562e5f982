"""Our matching against mir_eval's (docs/sources.md 8): the same figures on the same notes."""

from __future__ import annotations

import mir_eval
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.listen.align.matching import NoteList, matched, scored
from phrasewright.units import hz_from_midi

Rows = list[tuple[float, float, float]]


def _notes(rows: Rows) -> NoteList:
    onset_s, length_s, pitch_midi = np.array(rows, dtype=float).reshape(-1, 3).T
    return NoteList(onset_s=onset_s, offset_s=onset_s + length_s, pitch_midi=pitch_midi)


def _theirs(true: NoteList, heard: NoteList, *, pitches: bool, offsets: bool) -> tuple[float, float, float]:
    spans = [np.column_stack([notes.onset_s, notes.offset_s]) for notes in (true, heard)]
    if not pitches:
        return mir_eval.transcription.onset_precision_recall_f1(*spans)  # type: ignore[no-any-return]
    hz = [np.array([hz_from_midi(pitch) for pitch in notes.pitch_midi]) for notes in (true, heard)]
    ratio = 0.2 if offsets else None
    scores = mir_eval.transcription.precision_recall_f1_overlap(spans[0], hz[0], spans[1], hz[1], offset_ratio=ratio)
    return scores[:3]  # type: ignore[no-any-return]


@pytest.mark.parametrize(
    ("late_s", "cents", "longer_s", "plain", "with_offset"),
    [
        (0.049, 0, 0, 1, 1),
        (0.050, 0, 0, 1, 1),
        (0.051, 0, 0, 0, 0),
        (-0.049, 49, 0, 1, 1),
        (0, 49, 0, 1, 1),
        (0, 51, 0, 0, 0),
        (0, -51, 0, 0, 0),
        (0, 0, 0.19, 1, 1),
        (0, 0, 0.21, 1, 0),
        (0, 0, -0.21, 1, 0),
    ],
)
def test_the_bounds(late_s: float, cents: float, longer_s: float, plain: int, with_offset: int) -> None:
    """A note of one second, just inside and just outside of every bound; mir_eval agrees."""
    true = _notes([(1.0, 1.0, 60.0)])
    heard = _notes([(1.0 + late_s, 1.0 - late_s + longer_s, 60.0 + cents / 100)])
    for offsets, expected in ((False, plain), (True, with_offset)):
        assert scored(true, heard, offsets=offsets).f == expected
        assert _theirs(true, heard, pitches=True, offsets=offsets)[2] == expected


@given(
    st.lists(st.tuples(st.floats(0, 2), st.floats(0.05, 1), st.integers(55, 60)), min_size=1, max_size=20),
    st.lists(st.tuples(st.floats(0, 2), st.floats(0.05, 1), st.floats(54.4, 60.6)), min_size=1, max_size=20),
    st.booleans(),
    st.booleans(),
)
def test_any_notes_are_matched_as_mir_eval_does(
    true_rows: Rows, heard_rows: Rows, pitches: bool, offsets: bool
) -> None:
    """Precision, recall and F of crowded random notes, where the greatest matching is not the greedy one."""
    true, heard = _notes(true_rows), _notes(heard_rows)
    offsets = offsets and pitches
    ours = scored(true, heard, pitches=pitches, offsets=offsets)
    theirs = _theirs(true, heard, pitches=pitches, offsets=offsets)
    assert (ours.precision, ours.recall, ours.f) == pytest.approx(theirs, abs=1e-12)


@given(st.lists(st.tuples(st.floats(0, 5), st.floats(0.05, 1), st.integers(40, 80)), min_size=1, max_size=30))
def test_a_list_matches_itself_one_to_one(rows: Rows) -> None:
    """Every note finds a partner, none is used twice."""
    pairs = matched(_notes(rows), _notes(rows))
    assert len({true for true, _ in pairs}) == len({heard for _, heard in pairs}) == len(rows)


def test_nothing_matches_nothing() -> None:
    """Empty lists have no pairs, and scores of 0."""
    none, one = _notes([]), _notes([(0.0, 1.0, 60.0)])
    assert matched(none, one) == matched(one, none) == matched(none, none) == []
    assert scored(none, one).f == scored(one, none).f == 0.0
