"""Sound as scripts: each part's FLAC in base64 inside a small JavaScript file that registers itself.

A page opened from disk may not read files beside it, but it may load scripts; so the sound travels in scripts.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping

from phrasewright.engrave.page.sound_bank import ClipUse, SoundBank, Sprite


def sound_files(bank: SoundBank) -> dict[str, bytes]:
    """Relative path -> bytes for every part, and for the room when the bank has one."""
    files = {f"assets/sound-{role.value}.js": _sprite_file(role.value, sprite) for role, sprite in bank.sprites.items()}
    files |= {f"assets/sound-{name}.js": _sprite_file(name, sprite) for name, sprite in bank.recordings.items()}
    if bank.impulse is not None:
        files["assets/sound-room.js"] = _register("room", {}, bank.impulse)
    return files


def metronome_json(bank: SoundBank) -> dict[str, list[object]]:
    """The metronome's two clips as [key, rate, gain]."""
    return {"click": _use(bank.click), "accent": _use(bank.accent)}


def _use(use: ClipUse) -> list[object]:
    return [use.key, use.rate, use.gain]


def _sprite_file(name: str, sprite: Sprite) -> bytes:
    head = {
        "rate": sprite.sample_rate_hz,
        "level": sprite.level,
        "release": sprite.release_s,
        "room": sprite.room,
        "sides": sprite.sides,
        "clips": {key: [clip.start_frames, clip.length_frames] for key, clip in sprite.clips.items()},
    }
    return _register(name, head, sprite.audio)


def _register(name: str, head: Mapping[str, object], audio: bytes) -> bytes:
    file = json.dumps({**head, "data": base64.b64encode(audio).decode("ascii")}, separators=(",", ":"))
    return f"Phrasewright.sound.register({json.dumps(name)},{file});\n".encode()
