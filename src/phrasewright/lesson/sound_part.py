"""How the band sounds and in which files, from the band's section."""

from __future__ import annotations

from phrasewright.lesson.desk import Desk
from phrasewright.lesson.model import FILE_KINDS, BandSound, SoundSpec
from phrasewright.lesson.schema import BandSection
from phrasewright.lesson.words import choice, choices, printable

_OTHER_SOURCES = {"model": "models", "own": "models", "samples": "sampled", "soundfont": "sampled"}
_OTHER_KINDS = {"vorbis": "ogg", "wave": "wav"}


def sound_of(section: BandSection, desk: Desk) -> SoundSpec:
    """What is asked for; what is wrong is noted."""
    usual = BandSound.MODELS if section.soundfont is None else BandSound.SAMPLED
    wanted = usual if section.sound is None else section.sound
    found = choice(("band", "sound"), wanted, BandSound, "sound", desk, others=_OTHER_SOURCES)
    source = BandSound(found) if found else usual
    if section.soundfont is not None:
        printable(("band", "soundfont"), section.soundfont, desk)
        if source is BandSound.MODELS:
            what = "a SoundFont is for sampled sound, and the sound is that of the models"
            desk.wrong_key(("band", "soundfont"), what, 'Write sound = "sampled", or take soundfont out.')
    files, stems = (
        choices(("band", key), getattr(section, key), FILE_KINDS, "kind of file", desk, others=_OTHER_KINDS)
        for key in ("files", "stems")
    )
    return SoundSpec(
        source=source, soundfont=section.soundfont or "", a4_hz=float(section.a4), files=files, stems=stems
    )
