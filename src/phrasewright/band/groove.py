"""The grooves there are: one file each in ``grooves``, the plainest first.

The files are read when this module is. Their patterns are common practice, written for this program.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files
from types import MappingProxyType

from phrasewright.band.groove_file import read_groove
from phrasewright.band.groove_model import Groove, GrooveError
from phrasewright.theory.meter import Meter

__all__ = ["GROOVES", "Groove", "GrooveError", "groove_named", "grooves_for"]

FILES = (  # in the order in which a lesson that names no groove takes one that fits
    "straight-eighths",
    "shuffle",
    "swing",
    "slow-12-8",
    "quiet-sixteenths",
    "sixteenth-funk",
    "half-time",
    "ballad",
    "waltz",
    "bossa",
    "one-drop",
    "country-train",
    "pedal-point",
    "drone",
    "metronome",
)


def _read_all() -> Mapping[str, Groove]:
    folder = files(__package__).joinpath("grooves")
    texts = ((f"{name}.toml", folder.joinpath(f"{name}.toml").read_text(encoding="utf-8")) for name in FILES)
    return MappingProxyType({groove.id: groove for groove in (read_groove(text, name) for name, text in texts)})


GROOVES: Mapping[str, Groove] = _read_all()


def grooves_for(meter: Meter) -> tuple[Groove, ...]:
    """The grooves that fit a meter, the plainest first; empty when none does."""
    return tuple(groove for groove in GROOVES.values() if meter in groove.plans)


def groove_named(id_: str) -> Groove:
    """The groove with an id. Raises GrooveError naming those there are."""
    if id_ not in GROOVES:
        raise GrooveError(f"there is no groove {id_!r}.", hint=f"There are {', '.join(GROOVES)}.")
    return GROOVES[id_]
