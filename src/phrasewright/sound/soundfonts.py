"""Sampled fonts on this computer: found in the usual folders, or by name or path.

SoundFont 2 files (``.sf2``) and the same with compressed samples (``.sf3``).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from phrasewright.errors import PhrasewrightError

SUFFIXES = (".sf2", ".sf3")
FOLDERS = (  # common practice of Linux distributions and macOS
    Path("/usr/share/sounds/sf2"),
    Path("/usr/share/sounds/sf3"),
    Path("/usr/share/soundfonts"),
    Path("/usr/local/share/sounds/sf2"),
    Path("/usr/local/share/soundfonts"),
    Path("/Library/Audio/Sounds/Banks"),
)
OWN_FOLDERS = (".local/share/sounds/sf2", ".local/share/soundfonts", "Library/Audio/Sounds/Banks")  # in one's home
USUAL = "default-GM"  # what Debian calls the font that its user has chosen
INSTALL = "On Debian or Ubuntu: apt-get install libfluidsynth3 fluid-soundfont-gm."


class SoundError(PhrasewrightError):
    """Sampled sound was asked for and cannot be had."""

    exit_code = 2


def is_font(path: Path) -> bool:
    """Whether a file begins as SoundFonts do (RIFF with the form ``sfbk``: SoundFont 2.04, section 4)."""
    try:
        with path.open("rb") as file:
            head = file.read(12)
    except OSError:
        return False
    return head[:4] == b"RIFF" and head[8:] == b"sfbk"


def find_font(name: str = "", *, beside: Path | None = None, folders: Sequence[Path] | None = None) -> Path:
    """The font of a name or path; without a name the system's usual one, else the first there is.

    A path is looked for from the folder ``beside`` and as it stands; a name, with or without its end, in the usual
    folders. Raises SoundError when there is none.
    """
    if name:
        for path in (*((beside / name,) if beside else ()), Path(name).expanduser()):
            if path.is_file():
                return Path(path).resolve()
    found = list(_fonts(usual_folders() if folders is None else folders))
    wanted = name.lower() or USUAL.lower()
    for path in found:
        if wanted in (path.name.lower(), path.stem.lower()):
            return path.resolve()
    if name:
        known = ", ".join(sorted({path.name for path in found})) or "none"
        raise SoundError(f'There is no SoundFont "{name}".', hint=f"Name a file or one of those here: {known}.")
    if not found:
        raise SoundError("There is no SoundFont on this computer.", hint=f"{INSTALL} Or name a file of your own.")
    return found[0].resolve()


def usual_folders() -> tuple[Path, ...]:
    """Where fonts are looked for: the system's folders, then one's own."""
    return FOLDERS + tuple(Path.home() / folder for folder in OWN_FOLDERS)


def _fonts(folders: Sequence[Path]) -> Iterator[Path]:
    for folder in folders:
        if folder.is_dir():
            yield from sorted(path for path in folder.iterdir() if path.suffix.lower() in SUFFIXES and path.is_file())
