"""How strongly a note wants to move on: melodic attraction.

Lerdahl, "Calculating tonal tension", *Music Perception* 13:319-363 (1996): the pull of a note with anchoring
strength s1 towards a neighbour with s2 at n semitones is (s2 / s1) / n**2. Strengths as in docs/sources.md 3.4.
We measure them over the root of the chord that holds, as a local tonic (our choice).
"""

from __future__ import annotations

from phrasewright.theory.key import Mode

ANCHORING: dict[Mode, tuple[int, ...]] = {
    Mode.MAJOR: (4, 1, 2, 1, 3, 2, 1, 3, 1, 2, 1, 2),
    Mode.MINOR: (4, 1, 2, 3, 1, 2, 1, 3, 2, 2, 1, 2),
}
NEIGHBOUR_SEMITONES = 2


def attraction(start: int, goal: int, mode: Mode = Mode.MAJOR) -> float:
    """Pull from one pitch class above the tonic to another, by the shorter way. Raises ValueError if they are equal."""
    distance = (goal - start) % 12
    distance = min(distance, 12 - distance)
    if distance == 0:
        raise ValueError("a note is not attracted to itself")
    strengths = ANCHORING[mode]
    return strengths[goal % 12] / strengths[start % 12] / distance**2


def pull(pitch_class: int, mode: Mode = Mode.MAJOR) -> float:
    """The strongest pull on a note from its neighbours within a whole step: 0.5 on the root (at rest), 2.0 on 7."""
    offsets = (offset for offset in range(-NEIGHBOUR_SEMITONES, NEIGHBOUR_SEMITONES + 1) if offset)
    return max(attraction(pitch_class, pitch_class + offset, mode) for offset in offsets)
