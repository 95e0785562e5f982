"""Temporary: names that other packages will give."""

from dataclasses import replace

from phrasewright.neck.instrument import Hand, Instrument
from phrasewright.theory.pitch import Pitch

GROOVES = {"straight": ("4/4",), "shuffle": ("4/4",), "swing": ("4/4", "3/4"), "slow 12/8": ("12/8",)}
EXERCISE_KINDS = ("alone", "shuffled")
INSTRUMENTS = {"guitar": 1, "ukulele": 1}
TUNINGS = ("standard", "drop D")
