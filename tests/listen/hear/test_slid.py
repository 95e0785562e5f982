"""Notes that are slid to: heard where they sound, though nothing strikes them."""

from __future__ import annotations

import numpy as np
import pytest
from played_lines import played_line

from phrasewright.listen.hear.decode import DecodedNote
from phrasewright.listen.hear.ear import Answers
from phrasewright.listen.hear.hear import hear
from phrasewright.listen.hear.slid import with_slid
from phrasewright.listen.hear.spectrum import FRAME_S, LOWEST_ROW_MIDI, ROWS
from phrasewright.listen.heard import HeardTechnique
from phrasewright.score.technique import Start

FRAMES = 60


def _note(first: int, last: int, row: int) -> DecodedNote:
    midi = LOWEST_ROW_MIDI + row
    return DecodedNote(
        onset_s=first * FRAME_S, offset_s=last * FRAME_S, row=midi, rows=frozenset({midi}), begins=1, sounds=1, soft=0
    )


def _answers(*sounding: tuple[int, int, int]) -> Answers:
    """Answers in which rows sound from one frame to another."""
    planes = {name: np.zeros((FRAMES, ROWS), dtype=np.float32) for name in ("onset", "sounds", "end", "soft")}
    for first, last, row in sounding:
        planes["sounds"][first:last, row] = 0.9
    return Answers(**planes, dead=np.zeros(FRAMES, dtype=np.float32))


def test_what_sounds_after_a_glide_is_a_note_from_where_the_glide_began() -> None:
    """Frames 20 to 27 belong to no semitone; then another one sounds, which no onset began."""
    before = _note(5, 20, 30)
    found = with_slid([before], _answers((5, 20, 30), (27, 50, 34)))
    assert [(note.row, note.onset_s) for note in found] == [
        (before.row, before.onset_s),
        (LOWEST_ROW_MIDI + 34, before.offset_s),
    ]
    assert found[1].offset_s == pytest.approx(50 * FRAME_S)


@pytest.mark.parametrize(
    ("sounding", "why"),
    [
        ((40, 55, 34), "too long after"),
        ((27, 30, 34), "too short"),
        ((27, 50, 30), "the same pitch rings on"),
        ((27, 50, 31), "a semitone beside: a bend let go"),
        ((27, 50, 45), "out of a slide's reach"),
        ((8, 18, 34), "within a note that was struck"),
    ],
)
def test_what_sounds_otherwise_is_no_slide(sounding: tuple[int, int, int], why: str) -> None:
    """Ringing, rooms and short flickers begin no note."""
    assert with_slid([_note(5, 20, 30)], _answers((5, 20, 30), sounding)) == (_note(5, 20, 30),), why


def test_slides_of_our_own_strings_are_heard() -> None:
    """Nearly all notes slid to in two lines of the string models are there, and most are known for what they are."""
    slid = heard = known = 0
    for seed in (603, 607):
        line = played_line(seed)
        notes = hear(line.audio).notes
        for note, time in zip(line.notes, line.timed, strict=True):
            if note.touch.start is Start.SLID:
                near = [one for one in notes if abs(one.onset_s - time.onset_s) < 0.05]
                slid += 1
                heard += any(abs(one.pitch_midi - time.pitch_midi) < 0.5 for one in near)
                known += any(one.mark(HeardTechnique.SLIDE) for one in near)
    assert slid >= 4
    assert heard >= slid - 1
    assert known >= 0.6 * slid
