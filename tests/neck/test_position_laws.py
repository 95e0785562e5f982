"""Laws that hold for every position: any scale, root, tuning, style, fret, capo and hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from hypothesis import given, reject, settings
from hypothesis import strategies as st
from neck_strategies import ROOTS, instruments, requests, scale, scale_kinds, scales

from phrasewright.errors import NeckError
from phrasewright.neck.box import MOST_STRETCHED_FRETS, hand_frets
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.finish import MOST_FRETS_PAST_HAND
from phrasewright.neck.hand import HandPlace, fingers_on_string
from phrasewright.neck.instrument import Hand, Instrument
from phrasewright.neck.ladder import strings_between
from phrasewright.neck.place import Position, PositionNote, PositionStyle
from phrasewright.neck.request import PositionRequest, default_stretch_mm
from phrasewright.neck.search import all_boxes, find_position
from phrasewright.theory.scale import Scale, ScaleKind

GUITAR = instrument("guitar")


@st.composite
def wishes(draw: st.DrawFn) -> tuple[Scale, Instrument, PositionRequest]:
    build = draw(instruments())
    return draw(scales()), build, draw(requests(build))


def found(wish: tuple[Scale, Instrument, PositionRequest]) -> Position:
    try:
        return find_position(*wish)
    except NeckError:
        reject()


def strings_of(position: Position) -> list[list[PositionNote]]:
    return [[note for note in position.notes if note.place.string == string] for string in position.instrument.strings]


@settings(max_examples=80)
@given(wishes())
def test_every_place_sounds_its_pitch_and_the_notes_climb_the_scale(
    wish: tuple[Scale, Instrument, PositionRequest],
) -> None:
    """Places sound what they say; pitches rise through every scale tone between the ends, each once."""
    scale_, build, _ = wish
    position = found(wish)
    midi = [note.pitch.midi for note in position.notes]
    tones = {(scale_.root.pitch_class + degree.semitones) % 12 for degree in scale_.kind.degrees}
    assert [build.midi_at(note.place) for note in position.notes] == midi
    assert midi == [pitch for pitch in range(midi[0], midi[-1] + 1) if pitch % 12 in tones]
    assert len({note.place for note in position.notes}) == len(position.notes)
    assert all(note.degree.above(scale_.root) == note.pitch.name for note in position.notes)


@settings(max_examples=80)
@given(wishes())
def test_degrees_and_cycles_run_in_order(wish: tuple[Scale, Instrument, PositionRequest]) -> None:
    """Degrees go round the scale; cycles count its octaves from the lowest own note, zero and less below it."""
    scale_, _, _ = wish
    position = found(wish)
    degrees = scale_.kind.degrees
    first = degrees.index(position.notes[0].degree)
    below = next(index for index, note in enumerate(position.notes) if not note.added)
    for index, note in enumerate(position.notes):
        assert note.degree == degrees[(first + index) % len(degrees)]
        assert note.cycle == (index - below) // len(degrees) + 1


@settings(max_examples=80)
@given(wishes())
def test_the_hand_holds_it(wish: tuple[Scale, Instrument, PositionRequest]) -> None:
    """No grasp exceeds the limit in mm; one hand in a box; each string's grasp elsewhere; added notes stay near."""
    _, build, request = wish
    position = found(wish)
    limit_mm = request.max_stretch_mm or default_stretch_mm(build)
    assert position.stretch_mm <= limit_mm
    own = [note for note in position.notes if not note.added]
    low, high = min(note.place.fret for note in own), max(note.place.fret for note in own)
    pressed = [note.place.fret for note in own if note.finger]
    if request.style is PositionStyle.BOX:
        strings = strings_between(build, request.lowest_string, request.highest_string)
        assert build.stretch_mm(low, high) <= limit_mm
        assert high - low < hand_frets(build, strings) + MOST_STRETCHED_FRETS
        assert low > build.capo
    if request.style is PositionStyle.THREE_PER_STRING:
        for notes in strings_of(position):
            grasp = [note.place.fret for note in notes if note.finger and not note.added]
            assert not grasp or build.stretch_mm(grasp[0], grasp[-1]) <= limit_mm
            assert sum(not note.added for note in notes) in (0, request.notes_per_string)
    if request.style is PositionStyle.ONE_STRING:
        assert len({note.place.string for note in position.notes}) == 1
    if request.style is PositionStyle.OPEN and pressed:
        assert low <= build.capo + 8
    assert all(low - MOST_FRETS_PAST_HAND <= note.place.fret <= high + MOST_FRETS_PAST_HAND for note in position.notes)


@settings(max_examples=80)
@given(wishes())
def test_fingers_never_cross(wish: tuple[Scale, Instrument, PositionRequest]) -> None:
    """Open strings take no finger; on a string a higher fret never takes a lower finger, but for a moving hand."""
    _, build, request = wish
    position = found(wish)
    for note in position.notes:
        assert (note.finger == 0) == (note.place.fret == build.capo)
        assert 0 <= note.finger <= 4
    if request.style is not PositionStyle.ONE_STRING:
        for notes in strings_of(position):
            assert all(a.finger <= b.finger and a.place.fret < b.place.fret for a, b in pairwise(notes))


@given(wishes())
def test_a_left_handed_instrument_only_looks_different(wish: tuple[Scale, Instrument, PositionRequest]) -> None:
    """The other hand frets the same notes with the same fingers."""
    scale_, build, request = wish
    mirrored = replace(build, fretting_hand=Hand.RIGHT)
    assert found((scale_, mirrored, request)).notes == found(wish).notes


@settings(max_examples=80)
@given(wishes())
def test_what_a_refusal_offers_can_be_had(wish: tuple[Scale, Instrument, PositionRequest]) -> None:
    """Every offered box, run and path is found when asked for in those words."""
    scale_, build, request = wish
    request = replace(request, added_above=0, added_below=0)
    try:
        find_position(scale_, build, request)
    except NeckError as refusal:
        for words in refusal.alternatives:
            where = find_position(scale_, build, _asked(request, words)).where
            assert words == where or words.startswith("open position, string")


def _asked(request: PositionRequest, words: str) -> PositionRequest:
    if words.startswith("open position, string"):
        return replace(request, fret=None, lowest_string=int(words.split()[-2]))
    styles = {
        "box": PositionStyle.BOX,
        "along": PositionStyle.ONE_STRING,
        "open": PositionStyle.OPEN,
        "capo": PositionStyle.OPEN,
    }
    style = styles.get(words.split()[0], PositionStyle.THREE_PER_STRING)
    fret = None if style is PositionStyle.OPEN else int(words.split()[-1])
    return replace(request, style=style, fret=fret)


@given(scale_kinds(), st.integers(1, 11))
def test_boxes_move_with_the_root(kind: ScaleKind, semitones: int) -> None:
    """The same shapes, lowest degree and fingers on every root, wherever they come first (equal temperament)."""
    build = instrument("guitar", frets=36)
    shapes = []
    for root in (ROOTS[0], next(root for root in ROOTS if root.pitch_class == semitones)):
        boxes = all_boxes(Scale(root, kind), build, max_stretch_mm=400.0)
        shapes.append({_shape(position) for position in boxes})
    assert shapes[0] == shapes[1]


def _shape(position: Position) -> tuple[object, ...]:
    first = position.notes[0]
    return first.degree, tuple(
        (note.place.string, note.place.fret - first.place.fret, note.finger) for note in position.notes
    )


@given(st.integers(0, 7), st.sampled_from(["minor-pentatonic", "major", "blues", "dorian"]), st.integers(3, 6))
def test_a_capo_moves_the_open_position(capo: int, kind: str, lowest_string: int) -> None:
    """With a capo the open position of the scale that many semitones higher has the same shape and fingers."""
    request = PositionRequest(style=PositionStyle.OPEN, lowest_string=lowest_string)
    plain = find_position(scale("A", kind), GUITAR, request)
    root = next(root for root in ROOTS if root.pitch_class == (9 + capo) % 12)
    clamped = find_position(Scale(root, plain.scale.kind), instrument("guitar", capo=capo), request)
    assert [(note.place.string, note.place.fret - capo, note.finger) for note in clamped.notes] == [
        (note.place.string, note.place.fret, note.finger) for note in plain.notes
    ]


@given(
    st.sets(st.integers(0, 12), min_size=1, max_size=6),
    st.integers(1, 8),
    st.integers(1, 2),
)
def test_fingers_on_a_string_stretch_no_more_than_they_must(
    pressed: set[int], index_fret: int, frets_per_finger: int
) -> None:
    """Notes that lie one to a finger are played with those fingers; others in rising order."""
    hand = HandPlace(index_fret=index_fret, frets_per_finger=frets_per_finger)
    rising = sorted(pressed)
    chosen = fingers_on_string(rising, hand, open_fret=0)
    assert all(a <= b for a, b in pairwise(chosen))
    own = [(fret - index_fret) // frets_per_finger + 1 for fret in rising]
    if all(1 <= finger <= 4 for finger in own) and len(set(own)) == len(own) and 0 not in rising:
        assert list(chosen) == own
