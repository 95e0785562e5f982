"""Compressed MusicXML: a zip whose META-INF/container.xml names the score."""

from __future__ import annotations

import io
import zipfile
import zlib

from phrasewright.errors import NoteFileError, Problem
from phrasewright.intake.musicxml import read_musicxml
from phrasewright.intake.xml_text import parsed
from phrasewright.neck.fingering.line import LineNote

MAX_UNPACKED_BYTES = 50_000_000
_CONTAINER = "META-INF/container.xml"


def read_mxl(content: bytes, file: str) -> tuple[LineNote, ...]:
    """The notes of the score inside, by onset, then pitch. Raises NoteFileError."""
    return read_musicxml(_unpacked(content, file), file)


def _unpacked(content: bytes, file: str) -> bytes:
    """The score inside. Raises NoteFileError for a broken or far too large archive."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            rootfile = parsed(_member(archive, _CONTAINER, file), file).find(".//{*}rootfile")
            name = None if rootfile is None else rootfile.get("full-path")
            if name is None:
                raise _problem(file, f"{_CONTAINER} names no score")
            return _member(archive, name, file)
    except (zipfile.BadZipFile, zlib.error, KeyError, EOFError, NotImplementedError, RuntimeError, OSError) as error:
        raise _problem(file, f"this is no whole MXL archive ({error})") from error


def _member(archive: zipfile.ZipFile, name: str, file: str) -> bytes:
    with archive.open(name) as stream:
        content = stream.read(MAX_UNPACKED_BYTES + 1)
    if len(content) > MAX_UNPACKED_BYTES:
        raise _problem(file, f"{name} unpacks to more than {MAX_UNPACKED_BYTES} bytes")
    return content


def _problem(file: str, what: str) -> NoteFileError:
    return NoteFileError(file, Problem(what=what, hint="Export it again as MusicXML."))
