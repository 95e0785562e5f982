"""Text tablature of a line in free time."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from phrasewright.engrave.line_tab import WIDTH, line_tab
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.fingering.line import FingeredNote, Pick
from phrasewright.neck.instrument import StringFret

GUITAR = instrument("guitar")


def note(string: int, fret: int, finger: int, pick: Pick | None = None) -> FingeredNote:
    return FingeredNote(place=StringFret(string, fret), finger=finger, hand_fret=5, pick=pick)


def test_a_line_as_it_is_printed() -> None:
    """Frets on their strings, wider after a wait, a chord in one column, fingers and strokes below."""
    notes = [note(3, 5, 1, Pick.DOWN), note(3, 7, 3, Pick.UP), note(2, 5, 1, Pick.DOWN), note(1, 10, 4, Pick.DOWN)]
    assert line_tab([0.0, 0.2, 1.0, 1.01], notes, GUITAR).splitlines() == [
        "  0:00.0",
        "E|-------10-",
        "B|-------5--",
        "G|-5-7------",
        "D|----------",
        "A|----------",
        "E|----------",
        "   1 3",
        "   d u   d",
    ]


def test_frets_count_from_the_capo() -> None:
    """The capo's own fret is 0."""
    tab = line_tab([0.0], [note(6, 3, 0)], instrument("guitar", capo=3))
    assert "E|-0-" in tab.splitlines()


@given(st.lists(st.tuples(st.integers(1, 6), st.integers(0, 22), st.floats(0.0, 200.0)), min_size=1, max_size=120))
def test_every_note_is_there_within_the_width(placed: list[tuple[int, int, float]]) -> None:
    """Each string's frets read in order of onset, unless a chord puts two of them on one string."""
    onsets = [index + (onset_s % 0.5) for index, (_, _, onset_s) in enumerate(placed)]
    lines = line_tab(onsets, [note(string, fret, 1) for string, fret, _ in placed], GUITAR).splitlines()
    assert max(map(len, lines)) <= WIDTH
    rows = [line for line in lines if "|" in line]
    for string in range(1, 7):
        printed = re.findall(r"\d+", " ".join(rows[string - 1 :: 6]))
        assert [int(text) for text in printed] == [fret for own, fret, _ in placed if own == string]
