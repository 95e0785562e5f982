"""How the lead plays, from its section."""

from __future__ import annotations

from phrasewright.compose.lead_voice import LeadVoice
from phrasewright.compose.touches import HowOften, TouchWish, suited
from phrasewright.lesson.desk import Desk
from phrasewright.lesson.schema import LeadSection
from phrasewright.lesson.words import choice, choices
from phrasewright.neck.instrument import Instrument
from phrasewright.score.technique import Technique

_OTHERS = {
    "hammer": "hammer-on",
    "hammer-ons": "hammer-on",
    "pull": "pull-off",
    "pull-offs": "pull-off",
    "slides": "slide",
    "bends": "bend",
    "bending": "bend",
    "palm-mutes": "palm mute",
    "palm-muting": "palm mute",
    "dead-notes": "dead note",
    "ghost-note": "dead note",
    "ghost-notes": "dead note",
}


_OTHER_VOICES = {
    "electric-guitar": "guitar",
    "clean-guitar": "guitar",
    "distorted-guitar": "driven guitar",
    "overdriven-guitar": "driven guitar",
    "steel-string-guitar": "acoustic guitar",
    "classical-guitar": "nylon guitar",
}


def lead_voice_of(section: LeadSection, desk: Desk) -> LeadVoice:
    """What the lead plays on; a voice that is not there is noted."""
    found = choice(("lead", "voice"), section.voice, LeadVoice, "voice for the lead", desk, others=_OTHER_VOICES)
    return LeadVoice(found) if found else LeadVoice.GUITAR


def touches_of(section: LeadSection, instrument: Instrument | None, desk: Desk) -> TouchWish:
    """What is asked for; what is wrong, or makes no sense on the instrument, is noted."""
    path = ("lead", "techniques")
    written = section.techniques or []
    words = choices(path, written, Technique, "technique", desk, others=_OTHERS)
    for word in words:
        if instrument is not None and Technique(word) not in suited(instrument):
            what = f"{word} is not for this instrument ({instrument.name})"
            desk.wrong_value((*path, written.index(word)), what, "Take it out of the list.")
    often = choice(("lead", "how_often"), section.how_often, HowOften, "amount", desk)
    return TouchWish(
        techniques=tuple(technique for technique in Technique if technique in words),
        how_often=HowOften(often) if often else HowOften.USUAL,
    )
