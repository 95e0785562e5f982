"""Exchange files: every exercise, every study and the track for other programs."""

from __future__ import annotations

from collections.abc import Iterable

from phrasewright.app.pieces import BandPiece
from phrasewright.engrave.mei import to_mei
from phrasewright.engrave.musicxml import to_musicxml
from phrasewright.engrave.text_tab import score_tab
from phrasewright.score.performance import Performance
from phrasewright.sound.midifile import midi_bytes


def notation_files(pieces: Iterable[BandPiece], performance: Performance) -> dict[str, bytes]:
    """MusicXML with all parts, tempo and swing, MEI and text tablature of the lead; path -> bytes."""
    files: dict[str, bytes] = {}
    for piece in pieces:
        files[f"exchange/{piece.id}.musicxml"] = to_musicxml(piece.score, performance).encode()
        files[f"exchange/{piece.id}.mei"] = to_mei(piece.lead_only).encode()
        files[f"exchange/{piece.id}-tab.txt"] = (f"{piece.score.title}\n\n" + score_tab(piece.score)).encode()
    return files


def midi_files(pieces: Iterable[BandPiece], tempo_bpm: float, a4_hz: float) -> dict[str, bytes]:
    """MIDI files as written, at a tempo in quarter notes a minute and a concert pitch; path -> bytes."""
    return {f"exchange/{piece.id}.mid": midi_bytes(piece.score, tempo_bpm, a4_hz=a4_hz) for piece in pieces}
