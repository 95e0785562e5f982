"""What hands do to a string, as far as a recorded note lets them: where a synthesizer's pitch wheel stands, block by
block, which sound is struck, and how it is cut and damped.

A bent or slid note is struck at the pitch it comes from. A note that is hammered, pulled or slid is heard from after
its sample's own attack, as far in as the string has rung, so that no second pick is heard. A palm gives a note to the
font's muted guitar where the voice is a plain electric one, and takes from any what it takes from our own strings, for
fonts let low muted notes ring on; a dead note is the same, gone within some hundredths of a second.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from phrasewright.score.technique import LEGATO, Damping
from phrasewright.sound import strings, touched
from phrasewright.sound.gesture import Gesture, cents_at
from phrasewright.sound.voices import Voice
from phrasewright.units import CENTS_PER_SEMITONE

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray, FloatArray

PALMED = frozenset({Voice.GUITAR, Voice.RHYTHM_GUITAR})  # whose palm-muted notes General MIDI has as a program
KEYBOARDS = frozenset({Voice.ELECTRIC_PIANO, Voice.ORGAN})  # have none of this
PICK_RISE_S = 0.0003
ATTACK_S = 0.01  # of a damped note, heard whole: samples take longer to speak than our strings
LOSS_DB_PER_S = {Damping.PALM: strings.MUTED.mute_loss_db_per_s, Damping.DEAD: touched.DEAD_LOSS_DB_PER_S}
LEAST_SKIP_S, MOST_SKIP_S = 0.05, 0.4  # of a sample that is not picked: its attack, and no more than still rings well


def struck_midi(pitch_midi: int, gesture: Gesture) -> int:
    """The pitch that is struck: of a bent or slid note the one it comes from."""
    return pitch_midi + round(gesture.from_cents / CENTS_PER_SEMITONE)


def wheel_cents(gesture: Gesture, time_s: FloatArray) -> FloatArray | None:
    """Cents over the pitch struck at times from the onset, before it as at it; None when pitch stays."""
    if gesture.is_steady:
        return None
    return cents_at(gesture, np.maximum(time_s, 0.0)) - gesture.from_cents


def skip_s(gesture: Gesture) -> float:
    """How much of the struck sound goes by unheard, after its attack."""
    return float(np.clip(gesture.rung_s, LEAST_SKIP_S, MOST_SKIP_S)) if gesture.start in LEGATO else 0.0


def rise_s(gesture: Gesture) -> float:
    """How long the cut sound takes to come in."""
    return touched.LEGATO_RISE_S.get(gesture.start, PICK_RISE_S)


def damped(sound: AudioArray, gesture: Gesture, sample_rate: int) -> AudioArray:
    """The sound, from its onset on, under a palm or a resting finger; float32."""
    if gesture.damping is Damping.OPEN:
        return sound
    time_s = np.arange(len(sound)) / sample_rate
    loss_db = -np.maximum(time_s - ATTACK_S, 0.0) * LOSS_DB_PER_S[gesture.damping]
    return sound * (10.0 ** (loss_db / 20.0)).astype(np.float32)
