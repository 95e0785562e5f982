"""From a wish for sound to the source of it: our models, or a SoundFont that is on this computer."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from phrasewright.lesson.model import BandSound, SoundSpec
from phrasewright.sound.encode import FileKind
from phrasewright.sound.sampled import Sampled
from phrasewright.sound.soundfonts import find_font
from phrasewright.sound.sounds import MODELS, Models, Sounds
from phrasewright.sound.synth import player

USUAL_FILES, USUAL_STEMS = (FileKind.FLAC, FileKind.MP3), (FileKind.FLAC,)
_EASIEST = (FileKind.MP3, FileKind.OGG, FileKind.FLAC, FileKind.WAV)  # to play and to send, in this order


@dataclass(frozen=True, slots=True, kw_only=True)
class AudioWish:
    """How a track sounds, and which kinds of files are written of its mixes and of its stems."""

    sounds: Sounds = MODELS
    files: tuple[FileKind, ...] = USUAL_FILES
    stems: tuple[FileKind, ...] = USUAL_STEMS

    @property
    def easiest(self) -> FileKind:
        """The kind of the mixes that most players and phones take."""
        return easiest_of(self.files)


def easiest_of(kinds: tuple[FileKind, ...]) -> FileKind:
    """The kind that most players and phones take."""
    return min(kinds, key=_EASIEST.index)


def audio_wish(spec: SoundSpec, font: Path | None = None, *, sample_rate: int) -> AudioWish:
    """What a lesson asks for. font: where its SoundFont is, when that is known.

    Raises SoundError when sampled sound is asked for and the library or the font is missing.
    """
    return AudioWish(
        sounds=sounds_of(spec, font, sample_rate=sample_rate),
        files=tuple(FileKind(kind) for kind in spec.files),
        stems=tuple(FileKind(kind) for kind in spec.stems),
    )


def sounds_of(spec: SoundSpec, font: Path | None, *, sample_rate: int) -> Sounds:
    """The source of sound. Raises SoundError."""
    if spec.source is BandSound.MODELS:
        return Models(spec.a4_hz)
    found = font or find_font(spec.soundfont)
    player(found, sample_rate)  # what is missing is told before any work is done
    return Sampled(found, spec.a4_hz)
