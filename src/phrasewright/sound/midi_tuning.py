"""Concert pitch in MIDI: the registered parameters 1 (channel fine tuning) and 2 (channel coarse tuning).

Fine tuning is 14 bits over -100..+100 cents, coarse tuning whole semitones, both around 64 (MIDI 1.0 detailed
specification, registered parameter numbers).
"""

from __future__ import annotations

import math

from phrasewright.units import A4_HZ, CENTS_PER_SEMITONE, cents_between

_PARAMETER_HIGH, _PARAMETER_LOW, _DATA_HIGH, _DATA_LOW = 101, 100, 6, 38
_FINE, _COARSE = 1, 2
_LARGEST = 127
_MIDDLE, _SEVEN_BITS = 8192, 7


def tuning_controls(a4_hz: float) -> tuple[tuple[int, int], ...]:
    """Control changes (number, value) that tune a channel to a concert pitch."""
    cents = cents_between(A4_HZ, a4_hz)
    semitones = math.trunc(cents / CENTS_PER_SEMITONE)
    fine = round(_MIDDLE + (cents - semitones * CENTS_PER_SEMITONE) / CENTS_PER_SEMITONE * _MIDDLE)
    return (
        *((_PARAMETER_HIGH, 0), (_PARAMETER_LOW, _COARSE), (_DATA_HIGH, 64 + semitones)),
        *((_PARAMETER_HIGH, 0), (_PARAMETER_LOW, _FINE)),
        *((_DATA_HIGH, fine >> _SEVEN_BITS), (_DATA_LOW, fine & _LARGEST)),
        *((_PARAMETER_HIGH, _LARGEST), (_PARAMETER_LOW, _LARGEST)),  # no parameter: what follows changes nothing
    )
