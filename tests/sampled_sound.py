"""Whether sampled sound can be tested here: FluidSynth and a font. Where it must be (CI), missing is a failure."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path

import pytest

from phrasewright.sound.soundfonts import SUFFIXES, SoundError, find_font, usual_folders
from phrasewright.sound.synth import player

MUST = os.environ.get("CI") == "true"


@cache
def some_font() -> Path:
    """The computer's usual font. Raises SoundError without one or without FluidSynth."""
    font = find_font()
    player(font, 44_100)
    return font


def every_font() -> list[Path]:
    """Each font in the usual folders once."""
    folders = [folder for folder in usual_folders() if folder.is_dir()]
    found = (path for folder in folders for path in sorted(folder.iterdir()) if path.suffix in SUFFIXES)
    return sorted({path.resolve() for path in found if path.is_file()})


def _missing() -> str:
    try:
        some_font()
    except SoundError as error:
        return str(error)
    return ""


needs_sampled = pytest.mark.skipif(bool(not MUST and _missing()), reason=_missing() or "sampled sound is there")
