"""A lesson file as read from disk: its text, and a digest that tells whether it has changed."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from phrasewright.app.manifest import digest_of_file
from phrasewright.errors import OutputError
from phrasewright.lesson.model import BandSound
from phrasewright.lesson.toml_text import GROOVE_FILE
from phrasewright.sound.soundfonts import SoundError, find_font

MAX_BYTES = 1_000_000  # a lesson is a page or two of text


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonSource:
    """The bytes of a lesson file and where they came from.

    sha256: of all that the lesson is made from; grooves: texts of the groove files it names, by name; font: the
    SoundFont that it asks for, when there is one; recording: digests of the files of its recording, by name.
    """

    path: Path
    content: bytes
    sha256: str
    grooves: Mapping[str, str] = field(default_factory=dict)
    font: Path | None = None
    font_sha256: str = ""
    recording: Mapping[str, str] = field(default_factory=dict)


def read_source(path: Path) -> LessonSource:
    """Read a lesson file. Raises OutputError when it is not there, not a file, or far too large."""
    try:
        if path.is_dir():
            raise OutputError(f"{path} is a folder, not a lesson file.", hint="Name the .toml file inside it.")
        if path.stat().st_size > MAX_BYTES:
            raise OutputError(
                f"{path} is larger than {MAX_BYTES} bytes; no lesson is.", hint="Check that it is the file you meant."
            )
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise OutputError(
            f"There is no file {path}.", hint=f"Write a starting lesson with: phrasewright new {path}"
        ) from error
    except OSError as error:
        raise OutputError(f"{path} could not be read: {error.strerror}.") from error
    return source_of(path, content)


def source_of(path: Path, content: bytes) -> LessonSource:
    """A lesson with the files beside it, as if the file at ``path`` held these bytes."""
    band = _section(content, "band")
    grooves = _grooves(path, band)
    font = _font(path, band)
    font_sha256 = digest_of_file(font) if font else ""
    recording = _recording(path, content)
    digest = hashlib.sha256(content)
    for name, sha256 in recording.items():
        digest.update(f"\0{name}\0{sha256}".encode())
    for name, text in grooves.items():
        digest.update(f"\0{name}\0{text}".encode())
    if font:
        digest.update(f"\0{font_sha256}".encode())
    return LessonSource(
        path=path,
        content=content,
        sha256=digest.hexdigest(),
        grooves=grooves,
        font=font,
        font_sha256=font_sha256,
        recording=recording,
    )


def _section(content: bytes, name: str) -> dict[str, Any]:
    """A section as it is written; empty where the file cannot be read, which is told later."""
    try:
        found = tomllib.loads(content.decode("utf-8-sig")).get(name, {})
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}


def _font(lesson: Path, band: Mapping[str, object]) -> Path | None:
    """The SoundFont of a lesson with sampled sound, when it is there."""
    name = band.get("soundfont", "")
    if not isinstance(name, str) or not (name or band.get("sound") == BandSound.SAMPLED):
        return None
    try:
        return find_font(name, beside=lesson.parent)
    except SoundError:
        return None


def _grooves(lesson: Path, band: Mapping[str, object]) -> dict[str, str]:
    """The groove file that a lesson names, when it lies in the lesson's own folder; what is wrong is told later."""
    name = band.get("groove")
    if not isinstance(name, str) or not name.endswith(GROOVE_FILE) or Path(name).name != name:
        return {}
    path = lesson.parent / name
    try:
        if not path.is_file() or path.stat().st_size > MAX_BYTES:
            return {}
        return {name: path.read_text(encoding="utf-8")}
    except (OSError, UnicodeDecodeError):
        return {}


def _recording(lesson: Path, content: bytes) -> dict[str, str]:
    """Digests of the recording's files that lie in the lesson's own folder; what is missing is told later."""
    section = _section(content, "recording")
    found: dict[str, str] = {}
    for name in (section.get(key) for key in ("file", "taps", "beats")):
        if isinstance(name, str) and Path(name).name == name and (lesson.parent / name).is_file():
            try:
                with (lesson.parent / name).open("rb") as file:
                    found[name] = hashlib.file_digest(file, "sha256").hexdigest()
            except OSError:
                continue
    return found
