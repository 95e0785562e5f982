"""Families of voicings: what each is, that a hand can hold it, and that the voices move little in all of them."""

from __future__ import annotations

from itertools import combinations, pairwise
from random import Random

import pytest
from band_strategies import BLUES, TURN, chords, unfolded
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.band import keyboard
from phrasewright.band.families import FAMILIES, barre_grips, drop_two, open_grips, shells, triads, voicings_in
from phrasewright.band.groove_model import ChordStyle
from phrasewright.band.tones import guide_degrees
from phrasewright.band.voice_leading import OWN_SHARE, lead_voices, lead_voices_round, movement
from phrasewright.band.voicings import FINGERS, GUITAR, HIGHEST_MIDI, MOST_STRETCH_MM, Voicing, awkwardness
from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import parse_chord

STYLES = [style for style in ChordStyle if style is not ChordStyle.FIFTHS]
styles = st.sampled_from(STYLES)
GRIPPED = [style for style in STYLES if style is not ChordStyle.KEYBOARD]


@given(chords, styles)
def test_every_family_has_every_chord(chord: Chord, style: ChordStyle) -> None:
    """Whatever the chord, its voicings hold third and seventh, or what it has instead, no foreign tone, and rise."""
    found = voicings_in(chord, style)
    assert found
    guides = {degree.semitones for degree in guide_degrees(chord)}
    for one in found:
        assert guides <= {degree.semitones for degree in one.degrees}
        assert set(one.degrees) <= set(chord.degrees)
        pitches_midi = [pitch.midi for pitch in one.pitches]
        assert all(low < high for low, high in pairwise(pitches_midi))
        assert pitches_midi[-1] <= HIGHEST_MIDI
        for pitch, degree in zip(one.pitches, one.degrees, strict=True):
            assert (chord.root.pitch_class + degree.semitones - pitch.midi) % 12 == 0


@given(chords, st.sampled_from(GRIPPED))
def test_a_hand_holds_every_grip(chord: Chord, style: ChordStyle) -> None:
    """Each string sounds once, stopped strings lie within reach, and four fingers or a barre and three stop them."""
    for grip in voicings_in(chord, style):
        frets = [place.fret for place in grip.places]
        stopped = [fret for fret in frets if fret]
        assert len({place.string for place in grip.places}) == len(grip.pitches) == len(grip.places) <= 6
        assert [GUITAR.midi_at(place) for place in grip.places] == [pitch.midi for pitch in grip.pitches]
        assert not stopped or GUITAR.stretch_mm(min(stopped), max(stopped)) <= MOST_STRETCH_MM
        barred = sum(fret == min(stopped) for fret in stopped) if stopped and 0 not in frets else 1
        assert len(stopped) - barred + 1 <= FINGERS or not stopped


@given(chords)
def test_two_hands_hold_every_keyboard_voicing(chord: Chord) -> None:
    """Somewhere the keys part into two hands of an octave and five fingers at most; low neighbours keep a fourth."""
    for one in voicings_in(chord, ChordStyle.KEYBOARD):
        keys = [pitch.midi for pitch in one.pitches]
        assert one.places == ()
        assert len(keys) <= 4
        assert keys[-1] - keys[0] <= 21
        parted = [(keys[:cut], keys[cut:]) for cut in range(1, len(keys) + 1)]
        assert any(all(not hand or hand[-1] - hand[0] <= 12 for hand in hands) for hands in parted)
        assert all(high - low >= 5 for low, high in pairwise(keys) if low < 53)


@pytest.mark.parametrize(
    ("keys", "held"),
    [((48, 55, 64), True), ((48, 60, 69), True), ((48, 62, 70), False), ((60, 60, 64), False), ((48, 62, 69), True)],
)
def test_hands(keys: tuple[int, ...], held: bool) -> None:
    """An octave and a sixth is the widest, a key is struck once, and whatever parts into two octaves is held."""
    assert keyboard.is_in_two_hands(keys) is held


@pytest.mark.parametrize("symbol", ["Cmaj7", "F#m7", "Bb7", "Em7b5", "Abdim7", "Dm6", "G7sus4", "Eb7b9", "A13"])
def test_drop_two_is_a_close_chord_with_its_second_voice_dropped(symbol: str) -> None:
    """Four neighbouring strings; the lowest voice moved up an octave closes the chord within an octave."""
    found = drop_two(parse_chord(symbol))
    assert found
    for grip in found:
        strings = [place.string for place in grip.places]
        assert strings == list(range(strings[0], strings[0] - 4, -1))
        low, *rest = (pitch.midi for pitch in grip.pitches)
        close = sorted([low + 12, *rest])
        assert close[-1] - close[0] < 12
        assert close[2] == low + 12


def test_the_four_drop_two_orders() -> None:
    """Over a seventh chord they are R-5-7-3, 3-7-R-5, 5-R-3-7, 7-3-5-R from low to high (common practice)."""
    orders = {" ".join(str(degree) for degree in grip.degrees) for grip in drop_two(parse_chord("Cmaj7"))}
    assert orders == {"1 5 7 3", "3 7 1 5", "5 1 3 7", "7 3 5 1"}


@pytest.mark.parametrize(
    ("symbol", "tones"),
    [
        ("Cmaj7", "1 3 7"),
        ("Dm7", "1 b3 b7"),
        ("G7b9", "1 3 b7"),
        ("Fm6", "1 b3 6"),
        ("Bm7b5", "1 b3 b7"),
        ("C", "1 3 5"),
    ],
)
def test_shells_are_root_third_seventh(symbol: str, tones: str) -> None:
    """Three strings with the root lowest; a chord without a seventh takes its fifth (common practice)."""
    for grip in shells(parse_chord(symbol)):
        assert str(grip.degrees[0]) == "1"
        assert {str(degree) for degree in grip.degrees} == set(tones.split())
        assert max(place.string for place in grip.places) >= 4


@pytest.mark.parametrize(
    ("symbol", "tones"),
    [("Cmaj7", "3 5 7"), ("Am7", "b3 5 b7"), ("G7", "3 5 b7"), ("F", "1 3 5"), ("C7sus4", "4 5 b7")],
)
def test_triads_take_three_neighbouring_strings(symbol: str, tones: str) -> None:
    """A seventh chord's are the triad on its third (common practice)."""
    found = triads(parse_chord(symbol))
    assert found
    for grip in found:
        strings = [place.string for place in grip.places]
        assert strings == list(range(strings[0], strings[0] - 3, -1))
        assert {str(degree) for degree in grip.degrees} == set(tones.split())


# fret of each string from the sixth to the first, x for a string that is left out; every beginner's first chords
COWBOY = {"C": "x32010", "Am": "x02210", "E": "022100", "Em": "022000", "D": "xx0232", "Dm": "xx0231", "A7": "x02020"}


@pytest.mark.parametrize(("symbol", "frets"), COWBOY.items())
def test_the_first_chords_are_open_grips(symbol: str, frets: str) -> None:
    """The chords that beginners learn first are found, not written down (common practice)."""
    wanted = tuple((6 - place, int(fret)) for place, fret in enumerate(frets) if fret != "x")
    assert wanted in {tuple((p.string, p.fret) for p in grip.places) for grip in open_grips(parse_chord(symbol))}


@given(chords)
def test_open_grips_ring_on_their_root(chord: Chord) -> None:
    """Four strings or more, the root lowest, frets 0 to 4 with an open string; a barre has none."""
    for grip in open_grips(chord):
        frets = [place.fret for place in grip.places]
        assert len(frets) >= 4
        assert 0 in frets
        assert max(frets) <= 4
        assert grip.degrees[0].semitones == 0
    for grip in barre_grips(chord):
        assert 0 not in [place.fret for place in grip.places]
        assert grip.degrees[0].semitones == 0


@pytest.mark.parametrize("style", STYLES)
def test_a_family_that_cannot_hands_on(style: ChordStyle) -> None:
    """A power chord and a lone root are played whatever the family, by the one after it in the row."""
    for symbol in ("C5", "Cped", "C"):
        chord = parse_chord(symbol)
        first = next(found for family in FAMILIES[style] if (found := family(chord)))
        assert voicings_in(chord, style) == first
        assert {degree.semitones for degree in first[0].degrees} <= {degree.semitones for degree in chord.degrees}


def voices_moved(before: Voicing, after: Voicing) -> int:
    return sum(abs(a.midi - b.midi) for a, b in zip(reversed(before.pitches), reversed(after.pitches), strict=False))


@given(st.lists(chords, min_size=2, max_size=8), styles, st.integers(0, 9))
def test_joined_voices_move_no_more_than_voicings_alone(sequence: list[Chord], style: ChordStyle, seed: int) -> None:
    """Joined voicings move no more, but for chance and their own handiness, than the handiest of each chord alone."""
    chain = lead_voices(sequence, style, rng=Random(seed))
    alone = [voicings_in(chord, style)[0] for chord in sequence]
    joined = sum(movement(a, b) for a, b in pairwise(chain))
    assert joined <= sum(movement(a, b) for a, b in pairwise(alone)) + len(sequence)


@given(st.lists(chords, min_size=2, max_size=3), styles)
def test_the_chain_is_the_best_there_is(sequence: list[Chord], style: ChordStyle) -> None:
    """Without chance, no other chain of the same voicings moves less around a loop, their own handiness counted in."""

    class Still(Random):
        def random(self) -> float:
            return 0.0

    chain = lead_voices_round(sequence, style, rng=Still())
    pairs = [*pairwise(chain), (chain[-1], chain[0])]
    around = sum(movement(a, b) for a, b in pairs)
    for place, chord in enumerate(sequence):
        for other in voicings_in(chord, style)[:6]:
            changed = [*chain[:place], other, *chain[place + 1 :]]
            turns = [*pairwise(changed), (changed[-1], changed[0])]
            worth = sum(movement(a, b) for a, b in turns)
            better_alone = style_cost(other, place) - style_cost(chain[place], place)
            assert worth + better_alone >= around - 1e-9


def style_cost(one: Voicing, place: int) -> float:
    """What a voicing weighs by itself in the search: in full for the first chord, less for the others."""
    return awkwardness(one) * (OWN_SHARE if place else 1.0)


@pytest.mark.parametrize("text", [BLUES, TURN, "Cmaj7 | Am7 | Dm7 | G7", "C | Am | F | G"])
@pytest.mark.parametrize("style", [ChordStyle.VOICINGS, ChordStyle.DROP_2, ChordStyle.TRIADS, ChordStyle.KEYBOARD])
def test_voices_move_little(text: str, style: ChordStyle) -> None:
    """Over common charts a voice moves less than two semitones a change on average, and the top never far."""
    symbols = [measure.chords[0].chord for measure in unfolded(text)]
    for seed in range(3):
        chain = lead_voices([chord for chord in symbols if chord is not None], style, rng=Random(seed))
        moves = [voices_moved(a, b) / min(len(a.pitches), len(b.pitches)) for a, b in pairwise(chain)]
        assert sum(moves) / len(moves) < 2.0
        assert max(abs(a.pitches[-1].midi - b.pitches[-1].midi) for a, b in pairwise(chain)) <= 5


def test_families_differ() -> None:
    """No two families give a seventh chord the same best voicing on every root."""
    texts = ["Cmaj7", "F#m7", "Bb7", "Am7", "E7"]
    played = {
        style: [tuple(p.midi for p in voicings_in(parse_chord(text), style)[0].pitches) for text in texts]
        for style in STYLES
    }
    assert all(one != other for one, other in combinations(played.values(), 2))
