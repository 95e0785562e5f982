"""Chord voicings for keys: ten fingers, two hands, no root unless the chord needs it.

The tones are those that tell the chord (``tones``); every way to lay them between C3 and C5 is tried. One hand covers
an octave; both together no more than an octave and a sixth, so that a band has room (common practice, limits ours).
Seconds and thirds stay out of the lowest register, where they blur (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, product

from phrasewright.band.tones import essential_degrees, spelled
from phrasewright.band.voicings import Voicing, best_of
from phrasewright.theory.chord import Chord
from phrasewright.theory.pitch import Pitch

LOWEST_MIDI, HIGHEST_MIDI = 48, 72  # C3 to C5
HAND_SEMITONES = 12  # what one hand spans in comfort
MOST_SEMITONES = 21  # from the lowest to the highest note: an octave and a sixth
HAND_FINGERS = 5
CLEAR_FROM_MIDI = 53  # F3: below, neighbours lie a fourth apart or more
CLEAR_GAP = 5


def keyboard_voicings(chord: Chord) -> tuple[Voicing, ...]:
    """Voicings of a chord for keys, the best first, never empty: close ones for one hand, spread ones for two."""
    tones = essential_degrees(chord, 4)
    if len(tones) < 3:
        tones = (*tones, *tones[: 3 - len(tones)])  # a power chord doubles its fifth, a lone root sounds in octaves
    places = [_keys(chord.root.pitch_class + degree.semitones) for degree in tones]
    found: dict[tuple[int, ...], Voicing] = {}
    for choice in product(*places):
        pitches_midi = tuple(sorted(choice))
        if is_in_two_hands(pitches_midi) and is_clear(pitches_midi):
            rising = sorted(zip(choice, tones, strict=True))
            found[pitches_midi] = Voicing(
                places=(),
                pitches=tuple(Pitch.from_midi(midi, spelled(degree, chord.root)) for midi, degree in rising),
                degrees=tuple(degree for _, degree in rising),
            )
    return best_of(found.values())


def is_in_two_hands(pitches_midi: Sequence[int]) -> bool:
    """Whether two hands can hold rising keys, each within its span, none struck twice."""
    if any(low == high for low, high in pairwise(pitches_midi)) or pitches_midi[-1] - pitches_midi[0] > MOST_SEMITONES:
        return False
    splits = ((pitches_midi[:left], pitches_midi[left:]) for left in range(len(pitches_midi) + 1))
    return any(_fits(lower) and _fits(upper) for lower, upper in splits)


def is_clear(pitches_midi: Sequence[int]) -> bool:
    """Whether low neighbours keep apart, so that they do not blur."""
    return all(high - low >= CLEAR_GAP for low, high in pairwise(pitches_midi) if low < CLEAR_FROM_MIDI)


def _fits(hand: Sequence[int]) -> bool:
    return not hand or (len(hand) <= HAND_FINGERS and hand[-1] - hand[0] <= HAND_SEMITONES)


def _keys(pitch_class: int) -> range:
    return range(LOWEST_MIDI + (pitch_class - LOWEST_MIDI) % 12, HIGHEST_MIDI + 1, 12)
