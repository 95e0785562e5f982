"""Which way the pick goes: strict alternation, or economy.

Alternate picking turns with every stroke. Economy picking turns on one string and, on the way to another string,
goes on in that direction: down towards string 1, up away from it. Common practice. A chord is one stroke.
"""

from __future__ import annotations

from collections.abc import Sequence

from phrasewright.neck.fingering.line import Pick, Picking

_OTHER = {Pick.DOWN: Pick.UP, Pick.UP: Pick.DOWN}


def strokes(strings: Sequence[int], chords: Sequence[int], picking: Picking) -> list[Pick | None]:
    """One direction for each note in playing order, the first down. chords: equal numbers share a stroke."""
    if picking is Picking.NONE:
        return [None] * len(strings)
    picks: list[Pick] = []
    for index, string in enumerate(strings):
        if index == 0:
            picks.append(Pick.DOWN)
        elif chords[index] == chords[index - 1]:
            picks.append(picks[-1])
        elif picking is Picking.ECONOMY and string != strings[index - 1]:
            picks.append(Pick.DOWN if string < strings[index - 1] else Pick.UP)
        else:
            picks.append(_OTHER[picks[-1]])
    return list(picks)
