"""How a note is played, in plain words: ``hammer on to the third string, seventh fret``."""

from __future__ import annotations

from phrasewright.score.technique import Damping, Start, Touch

_LEADS = {Start.HAMMERED: "hammer on to", Start.PULLED: "pull off to", Start.SLID: "slide to"}
_BENDS = {1: "a semitone", 2: "a whole tone"}


def spoken_touch(touch: Touch, name: str, place: str) -> str:
    """A note with how it is played. name: ``flat third``; place: ``third string, fifth fret``."""
    if touch.damping is Damping.DEAD:
        return f"a dead note, {place.partition(',')[0].removesuffix(' open')}"
    lead = f"{_LEADS[touch.start]} the " if touch.is_legato else ""
    bend = "" if touch.bend is None else f", bent up {_BENDS[touch.bend.semitones]}"
    palm = ", palm muted" if touch.damping is Damping.PALM else ""
    return f"{name}, {lead}{place}{bend}{', with vibrato' if touch.vibrato else ''}{palm}"
