"""Laws of every fingering: places that sound, hands that can be, and nothing better anywhere."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from neck_strategies import instruments

from phrasewright.errors import NeckError
from phrasewright.neck.catalogue import INSTRUMENT_KINDS, instrument
from phrasewright.neck.fingering.effort import frets_mm, hurry, shift_mm, still_mm, stretch_mm
from phrasewright.neck.fingering.finger import finger_line
from phrasewright.neck.fingering.line import FingeredNote, FingeringWish, LineNote, Pick, Picking
from phrasewright.neck.fingering.moments import CHORD_S, moments
from phrasewright.neck.fingering.scores import CLASH_MM, Scores
from phrasewright.neck.fingering.solve import best_path, smallest_worst
from phrasewright.neck.fingering.tables import SHAPES, SIZE, cell
from phrasewright.neck.fingering.weights import WEIGHTS
from phrasewright.neck.instrument import Instrument

GUITAR = instrument("guitar")


def line_of(*pitches_midi: int, step_s: float = 0.25) -> tuple[LineNote, ...]:
    """Notes one after the other."""
    return tuple(
        LineNote(onset_s=index * step_s, duration_s=step_s, pitch_midi=pitch)
        for index, pitch in enumerate(pitches_midi)
    )


def chord_of(*pitches_midi: int) -> tuple[LineNote, ...]:
    return tuple(LineNote(onset_s=0.0, duration_s=1.0, pitch_midi=pitch) for pitch in pitches_midi)


@st.composite
def lines(draw: st.DrawFn, played_on: Instrument, *, most: int = 12) -> tuple[LineNote, ...]:
    """Notes that the instrument has, some at once, in any order."""
    sounding = sorted(
        {pitch.midi + fret for pitch in played_on.tuning for fret in range(played_on.capo, played_on.frets + 1)}
    )
    notes = draw(
        st.lists(
            st.tuples(st.sampled_from([0.0, 0.01, 0.2, 0.5]), st.floats(0.0, 2.0, width=32), st.sampled_from(sounding)),
            min_size=1,
            max_size=most,
        )
    )
    onsets = itertools.accumulate(wait for wait, _, _ in notes)
    timed = [
        LineNote(onset_s=onset, duration_s=length, pitch_midi=pitch)
        for onset, (_, length, pitch) in zip(onsets, notes, strict=True)
    ]
    return tuple(draw(st.permutations(timed)))


@st.composite
def wishes(draw: st.DrawFn) -> FingeringWish:
    return FingeringWish(
        prefer_open=draw(st.booleans()),
        beginner=draw(st.booleans()),
        max_stretch_mm=draw(st.none() | st.floats(20.0, 200.0)),
        picking=draw(st.sampled_from(Picking)),
    )


@given(st.data(), wishes())
def test_every_place_sounds_its_pitch_within_the_frets(data: st.DataObject, wish: FingeringWish) -> None:
    """On any instrument, in the order given, and the hand never opens wider than the limit."""
    played_on = data.draw(instruments())
    line = data.draw(lines(played_on))
    fingered = finger_line(line, played_on, wish)
    assert len(fingered.notes) == len(line)
    for note, played in zip(line, fingered.notes, strict=True):
        assert played_on.midi_at(played.place) == note.pitch_midi
        assert (played.finger == 0) == (played.place.fret == played_on.capo)
        assert 0 <= played.finger <= 4
        if played.finger:
            assert played.place.fret >= played.hand_fret > played_on.capo
            limit_mm = wish.stretch_limit_mm(played_on)
            assert played_on.stretch_mm(played.hand_fret, played.place.fret) <= limit_mm


@given(st.data(), wishes())
def test_fingers_never_cross_under_one_hand(data: st.DataObject, wish: FingeringWish) -> None:
    """While the hand stays, a lower fret never takes a higher finger."""
    played_on = data.draw(instruments())
    line = sorted(data.draw(lines(played_on)), key=lambda note: note.onset_s)
    notes = finger_line(line, played_on, wish).notes
    for _, staying in itertools.groupby(notes, key=lambda note: note.hand_fret):
        pressed = sorted((note.place.fret, note.finger) for note in staying if note.finger)
        assert all(low[1] <= high[1] for low, high in itertools.pairwise(pressed) if low[0] < high[0])


@given(st.data(), wishes())
def test_chords_are_held_by_one_hand(data: st.DataObject, wish: FingeringWish) -> None:
    """Notes at once, unless reported: own strings, one hand, no finger on two frets."""
    played_on = data.draw(instruments())
    line = data.draw(lines(played_on))
    fingered = finger_line(line, played_on, wish)
    played = moments(line)
    out_of_reach = {int(played.chord[list(played.order).index(index)]) for index in fingered.impossible}
    for chord in set(played.chord.tolist()) - out_of_reach:
        held = [fingered.notes[index] for index in played.order[played.chord == chord]]
        assert len({note.place.string for note in held}) == len(held)
        _held_at_once(held)


def _held_at_once(held: list[FingeredNote]) -> None:
    pressed = [note for note in held if note.finger]
    assert len({note.hand_fret for note in pressed}) <= 1
    for one, other in itertools.combinations(pressed, 2):
        if one.finger == other.finger:
            assert one.place.fret == other.place.fret
        elif one.finger < other.finger:
            assert one.place.fret < other.place.fret


@settings(max_examples=25)
@given(st.data())
def test_no_fingering_scores_higher(data: st.DataObject) -> None:
    """The search finds what trying every path finds."""
    line = data.draw(lines(GUITAR, most=3))
    scores = Scores(moments(line), GUITAR, FingeringWish(), WEIGHTS)
    layers, steps = scores.layers(), list(scores.steps())

    def total(path: tuple[int, ...]) -> float:
        moved = sum(step[a, b] for step, (a, b) in zip(steps, itertools.pairwise(path), strict=True))
        return float(sum(layer[state] for layer, state in zip(layers, path, strict=True)) + moved)

    best = max(map(total, itertools.product(*(range(len(layer)) for layer in layers))))
    assert total(tuple(best_path(layers, steps))) == pytest.approx(best)


@given(st.data())
def test_no_worst_move_is_smaller(data: st.DataObject) -> None:
    """The minimax bound is what trying every path finds."""
    sizes = data.draw(st.lists(st.integers(1, 4), min_size=1, max_size=5))
    numbers = st.integers(0, 20).map(float)
    first = np.array(data.draw(st.lists(numbers, min_size=sizes[0], max_size=sizes[0])))
    efforts = [
        np.array(data.draw(st.lists(st.lists(numbers, min_size=b, max_size=b), min_size=a, max_size=a)))
        for a, b in itertools.pairwise(sizes)
    ]
    paths = itertools.product(*map(range, sizes))
    worst = min(
        max([first[path[0]], *(e[a, b] for e, (a, b) in zip(efforts, itertools.pairwise(path), strict=True))])
        for path in paths
    )
    assert smallest_worst(efforts, first) == worst


@given(st.data())
def test_a_beginners_worst_move_is_no_worse(data: st.DataObject) -> None:
    """The beginner's fingering never holds a harder move than the usual one."""
    line = data.draw(lines(GUITAR))
    gentle = finger_line(line, GUITAR, FingeringWish(beginner=True))
    usual = finger_line(line, GUITAR)
    assert _worst_mm(line, gentle.notes) <= _worst_mm(line, usual.notes) + 1e-6 or usual.impossible


def _worst_mm(line: tuple[LineNote, ...], notes: tuple[FingeredNote, ...]) -> float:
    """Worst effort of a fingering, taken from the search's own matrices."""
    played = moments(line)
    scores = Scores(played, GUITAR, FingeringWish(), WEIGHTS)
    grips = scores.grips()
    path = []
    for index, one in zip(played.order.tolist(), grips, strict=True):
        note = notes[index]
        same = (one.string == note.place.string) & (one.fret == note.place.fret) & (one.hand == note.hand_fret)
        path.append(np.flatnonzero(same))
    efforts = [e[np.ix_(a, b)].min() for e, (a, b) in zip(scores.efforts_mm(), itertools.pairwise(path), strict=True)]
    return max([float(scores.first_effort_mm()[path[0]].min()), *map(float, efforts)])


def test_the_scale_in_one_place() -> None:
    """A minor pentatonic over two octaves from the sixth string: one hand, five to eight, as every book has it."""
    up = (45, 48, 50, 52, 55, 57, 60, 62, 64, 67, 69, 72)
    notes = finger_line(line_of(*up), GUITAR, FingeringWish(stay_in=(5, 8))).notes
    assert [(note.place.string, note.place.fret) for note in notes] == [
        (6, 5), (6, 8), (5, 5), (5, 7), (4, 5), (4, 7), (3, 5), (3, 7), (2, 5), (2, 8), (1, 5), (1, 8),
    ]  # fmt: skip
    assert [note.finger for note in notes] == [1, 4, 1, 3, 1, 3, 1, 3, 1, 4, 1, 4]


@given(st.data())
def test_a_wished_position_is_kept_or_refused(data: st.DataObject) -> None:
    """Every fret lies in it, or the note that has no place there is named."""
    line = data.draw(lines(GUITAR))
    low = data.draw(st.integers(0, 18))
    wish = FingeringWish(stay_in=(low, data.draw(st.integers(low, 22))))
    assert wish.stay_in is not None
    inside = [[p for p in GUITAR.places_of(n.pitch_midi) if low <= p.fret <= wish.stay_in[1]] for n in line]
    if all(inside):
        assert all(low <= note.place.fret <= wish.stay_in[1] for note in finger_line(line, GUITAR, wish).notes)
    else:
        with pytest.raises(NeckError, match=f"between frets {low} and"):
            finger_line(line, GUITAR, wish)


@pytest.mark.parametrize(
    ("pitches", "fingers"),
    [
        ((45, 48, 50, 52, 50, 48, 45), (1, 4, 1, 3, 1, 4, 1)),  # box at fret 5
        ((47, 48, 50, 48), (1, 2, 4, 2)),  # frets 7, 8 and 10 of string 6
        ((45, 49, 45, 49), (1, 4, 1, 4)),  # frets 5 and 9: the little finger stretches, the hand stays
    ],
)
def test_one_finger_a_fret(pitches: tuple[int, ...], fingers: tuple[int, ...]) -> None:
    """The hand lies where no finger must stretch and takes the index finger first."""
    line = line_of(*pitches)
    notes = finger_line(line, GUITAR, FingeringWish(stay_in=(5, 10))).notes
    assert len({note.hand_fret for note in notes}) == 1
    assert tuple(note.finger for note in notes) == fingers


def test_a_note_off_the_neck_is_named() -> None:
    """The message says which note, and the nearest octave that there is."""
    with pytest.raises(
        NeckError, match=re.escape("Note 2 at 0.25 s, D2 (MIDI 38), cannot be played on guitar")
    ) as caught:
        finger_line(line_of(40, 38), GUITAR)
    assert caught.value.alternatives == ("D3 (MIDI 50)",)


@pytest.mark.parametrize("kind", sorted(INSTRUMENT_KINDS))
def test_every_instrument_of_the_catalogue(kind: str) -> None:
    """In every tuning: from the lowest note to the highest, chromatically, and a chord of open strings."""
    for tuning in INSTRUMENT_KINDS[kind].tunings:
        played_on = instrument(kind, tuning=tuning.id, capo=2)
        low = min(pitch.midi for pitch in played_on.tuning) + 2
        high = max(pitch.midi for pitch in played_on.tuning) + played_on.frets
        pitches = [pitch for pitch in range(low, high + 1) if played_on.places_of(pitch)]
        fingered = finger_line(line_of(*pitches), played_on)
        assert [played_on.midi_at(note.place) for note in fingered.notes] == pitches


def test_open_strings_when_preferred() -> None:
    """All the open strings of a line that asks for them."""
    notes = finger_line(line_of(64, 59, 55, 50, 45, 40), GUITAR, FingeringWish(prefer_open=True)).notes
    assert [note.finger for note in notes] == [0] * 6


def test_an_open_chord() -> None:
    """E minor as everybody holds it: six strings, two fingers on fret 2."""
    fingered = finger_line(chord_of(40, 47, 52, 55, 59, 64), GUITAR)
    assert [(note.place.string, note.place.fret) for note in fingered.notes] == [
        (6, 0), (5, 2), (4, 2), (3, 0), (2, 0), (1, 0),
    ]  # fmt: skip
    assert fingered.impossible == ()


def test_a_chord_out_of_reach_is_reported() -> None:
    """Two low notes a semitone apart on the one string that has them."""
    assert finger_line(chord_of(40, 41), GUITAR).impossible == (1,)


def test_a_strum_is_a_chord() -> None:
    """Onsets less than 30 ms apart share a hand; the same notes spread over more need not."""
    strummed = [
        LineNote(onset_s=CHORD_S / 3 * index, duration_s=1.0, pitch_midi=p) for index, p in enumerate((52, 45, 48))
    ]
    assert moments(strummed).chord.tolist() == [0, 0, 0]
    assert moments(line_of(52, 45, 48)).chord.tolist() == [0, 1, 2]


@pytest.mark.parametrize(
    ("picking", "strokes"),
    [
        (Picking.ALTERNATE, "dudu"),
        (Picking.ECONOMY, "ddud"),
        (Picking.NONE, ""),
    ],
)
def test_picking(picking: Picking, strokes: str) -> None:
    """Alternate turns every time; economy goes on in its direction to the next string, turns on the same one."""
    line = line_of(57, 60, 62, 60)
    notes = finger_line(line, GUITAR, FingeringWish(stay_in=(5, 9), picking=picking)).notes
    assert [note.place.string for note in notes] == [4, 3, 3, 3]
    assert "".join(note.pick[0] for note in notes if note.pick) == strokes


def test_economy_goes_up_to_a_lower_string() -> None:
    """A string change away from the floor is an up stroke."""
    notes = finger_line(line_of(62, 57), GUITAR, FingeringWish(stay_in=(5, 9), picking=Picking.ECONOMY)).notes
    assert [note.pick for note in notes] == [Pick.DOWN, Pick.UP]


def test_an_empty_line() -> None:
    assert finger_line((), GUITAR).notes == ()


@given(st.data())
def test_given_order_does_not_matter(data: st.DataObject) -> None:
    """A line given backwards is fingered the same, note by note."""
    line = data.draw(lines(GUITAR))
    assume(len({note.onset_s for note in line}) == len(line))
    assert finger_line(line[::-1], GUITAR).notes == finger_line(line, GUITAR).notes[::-1]


def test_time_moves_the_whole_line() -> None:
    """A line that begins later is fingered the same."""
    line = line_of(45, 48, 52, 57, 60, 64, 67, 72)
    later = tuple(replace(note, onset_s=note.onset_s + 100.0) for note in line)
    assert finger_line(later, GUITAR).notes == finger_line(line, GUITAR).notes


def test_efforts() -> None:
    """Shifts weigh more when there is little time; a chord that cannot be held weighs most."""
    assert hurry(0.5) == hurry(0.25) == 1.0
    assert hurry(0.125) == 2.0
    assert hurry(0.0) == 4.0
    scores = Scores(moments(chord_of(40, 41)), GUITAR, FingeringWish(), WEIGHTS)
    (effort,) = scores.efforts_mm()
    assert effort.min() >= CLASH_MM
    (before, after) = scores.grips()
    at_mm = frets_mm(GUITAR)
    assert stretch_mm(before, at_mm).max() == 0.0
    assert shift_mm(before, after, at_mm).shape == still_mm(before, after, at_mm).shape == effort.shape


def test_the_tables_are_full() -> None:
    """One finite weight for every cell, and cells of different tables never meet."""
    assert WEIGHTS.shape == (SIZE,)
    assert np.isfinite(WEIGHTS).all()
    firsts = [int(cell(name, *(0 for _ in shape))) for name, shape in SHAPES.items()]
    lasts = [int(cell(name, *(10**6 for _ in shape))) for name, shape in SHAPES.items()]
    assert firsts == [0, *(last + 1 for last in lasts[:-1])]
    assert lasts[-1] == SIZE - 1
