"""Laws of the transformations, over any position, motif and meter."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from melody_strategies import METERS, motifs, open_a_minor

from phrasewright.melody.motif import Contour, Motif
from phrasewright.melody.phrase import Phrase
from phrasewright.melody.transform import (
    augment,
    diminish,
    displace,
    extend,
    fragment,
    fragments,
    invert,
    retrograde,
    sequence,
    sequences,
    shift_octave,
)
from phrasewright.theory.count import parse_count
from phrasewright.theory.meter import Meter

FOUR = Meter(4, 4)
STEPS = st.integers(-30, 30)


@given(motifs())
def test_retrograde_twice_is_the_motif(motif) -> None:
    """Backwards twice is forwards, and once keeps the notes."""
    assert retrograde(retrograde(motif)) == motif
    assert sorted(retrograde(motif).steps) == sorted(motif.steps)


@given(motifs())
def test_inversion_twice_is_the_motif(motif) -> None:
    """Turned over twice about the same note is unchanged; each rise is a fall of as many notes."""
    turned = invert(motif)
    if turned is not None:
        assert turned.moves == tuple(-move for move in motif.moves)
        assert invert(turned) == motif


@given(motifs(), STEPS)
def test_a_sequence_keeps_the_shape_and_can_be_undone(motif, steps) -> None:
    """Moved along the scale the moves are the same; None means exactly that a note would leave the position."""
    moved = sequence(motif, steps)
    inside = all(0 <= step + steps < len(motif.position.notes) for step in motif.steps)
    assert (moved is not None) == inside
    if moved is not None:
        assert moved.moves == motif.moves
        assert sequence(moved, -steps) == motif


@given(motifs())
def test_sequences_are_all_places_of_the_shape(motif) -> None:
    """A shape that spans s notes has N - s places, and the motif is one of them."""
    found = sequences(motif)
    assert len(found) == len(motif.position.notes) - (max(motif.steps) - min(motif.steps))
    assert motif in found


@given(motifs(), st.integers(-3, 3))
def test_an_octave_shift_moves_every_pitch_by_octaves(motif, cycles) -> None:
    """Pitches move by 12 semitones a cycle, degrees stay, and the way back is open."""
    moved = shift_octave(motif, cycles)
    if moved is not None:
        assert [b.pitch.midi - a.pitch.midi for a, b in zip(motif.notes, moved.notes, strict=True)] == [
            12 * cycles
        ] * len(motif.steps)
        assert moved.degrees_text == motif.degrees_text
        assert shift_octave(moved, -cycles) == motif


def test_an_octave_up_in_open_a_minor() -> None:
    """1 b3 4 of cycle 1 becomes 1 b3 4 of cycle 2, and no further."""
    motif = Motif(open_a_minor(), (0, 1, 2))
    upper = shift_octave(motif, 1)
    assert upper is not None
    assert upper.steps == (5, 6, 7)
    assert upper.cycles == (2,)
    assert shift_octave(motif, 2) is None


@given(motifs())
def test_fragments_are_the_contiguous_pieces(motif) -> None:
    """A motif of n notes has n(n-1)/2 - 1 shorter pieces of two or more notes; each lies within it."""
    pieces = fragments(motif)
    size = len(motif.steps)
    assert len(pieces) == size * (size - 1) // 2 - 1
    text = "".join(chr(step) for step in motif.steps)
    assert all("".join(chr(step) for step in piece.steps) in text for piece in pieces)


@given(motifs(), st.lists(st.integers(-3, 3), min_size=1, max_size=2))
def test_an_extension_begins_with_the_motif(motif, moves) -> None:
    """An extended motif keeps its beginning; past five notes it is refused as a mistake."""
    if len(motif.steps) + len(moves) > 5:
        with pytest.raises(ValueError, match="at most 5"):
            extend(motif, tuple(moves))
        return
    longer = extend(motif, tuple(moves))
    if longer is not None:
        assert longer.moves == motif.moves + tuple(moves)
        assert fragment(longer, 0, len(motif.steps)) == motif


def test_a_fragment_outside_is_refused() -> None:
    """A fragment has two notes or more and lies within the motif."""
    motif = Motif(open_a_minor(), (0, 1, 2))
    for start, length in ((0, 1), (2, 2), (-1, 2), (0, 4)):
        with pytest.raises(ValueError, match="no fragment"):
            fragment(motif, start, length)


def _phrase(text: str, meter: Meter = FOUR, rest_bars: int = 1) -> Phrase:
    count = parse_count(text, meter)
    return Phrase(Motif(open_a_minor(), tuple(range(len(count.strokes)))), count, rest_bars)


def test_twice_as_fast_is_spoken() -> None:
    """1 2 3 twice as fast is 1 & 2 and a short rest on the off-beat."""
    fast = diminish(_phrase("1 2 3"))
    assert fast is not None
    assert fast.count.text == "1 & 2 (&)"
    assert fast.bars == 2


def test_half_as_fast_takes_a_rest_bar() -> None:
    """1 2 3 at half speed needs a second bar and takes it from the rest."""
    slow = augment(_phrase("1 2 3"))
    assert slow is not None
    assert [str(stroke.onset) for stroke in slow.count.strokes] == ["0", "2", "4"]
    assert (slow.count.bars, slow.rest_bars) == (2, 0)


def test_what_cannot_be_spoken_is_none() -> None:
    """Triplets twice as fast, and a note pushed over the bar line, have no spoken count."""
    assert diminish(_phrase("1 trip let")) is None
    assert displace(_phrase("1 - 3 -"), Fraction(1)) is None
    assert displace(_phrase("1 2"), Fraction(-1)) is None


@given(st.sampled_from(METERS), st.sampled_from(("1 2", "1 & 2", "1 & 2 &", "1 e & a 2")))
def test_half_as_fast_and_twice_as_fast_undo_each_other(meter, text) -> None:
    """Augmenting a diminished phrase gives its strokes back, in every meter."""
    phrase = _phrase(text, meter)
    for there, back in ((diminish, augment), (augment, diminish)):
        changed = there(phrase)
        if changed is not None:
            again = back(changed)
            assert again is not None
            assert [(s.onset, s.duration) for s in again.count.strokes] == [
                (s.onset, s.duration) for s in phrase.count.strokes
            ]


@given(st.sampled_from(METERS), st.sampled_from(("1", "1 &", "1 & 2")), st.integers(0, 12))
def test_displacing_moves_every_stroke_alike(meter, text, halves) -> None:
    """A displaced phrase begins later by that much and can be moved back."""
    if len(text.split()) < 2:
        text = "1 & 2"
    phrase = _phrase(text, meter)
    by = halves * meter.unit / 2
    moved = displace(phrase, by)
    if moved is not None:
        assert [b.onset - a.onset for a, b in zip(phrase.count.strokes, moved.count.strokes, strict=True)] == [
            by
        ] * len(phrase.count.strokes)
        back = displace(moved, -by)
        assert back is not None
        assert back.count.strokes == phrase.count.strokes


def test_contour_of_the_turned_motif() -> None:
    """Turning a rising motif over makes it fall."""
    motif = Motif(open_a_minor(), (4, 5, 6))
    turned = invert(motif)
    assert turned is not None
    assert (motif.contour, turned.contour) == (Contour.RISING, Contour.FALLING)
