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
    return {f"assets/sound-{name}.js": _register(name, file) for name, file in bank_json(bank).items()}


def bank_json(bank: SoundBank) -> dict[str, dict[str, object]]:
    """What the scripts of ``sound_files`` register, by name."""
    found = {role.value: sprite_json(sprite) for role, sprite in bank.sprites.items()}
    found |= {name: sprite_json(sprite) for name, sprite in bank.recordings.items()}
    return found if bank.impulse is None else found | {"room": _with_data({}, bank.impulse)}


def sprite_json(sprite: Sprite) -> dict[str, object]:
    """A sprite as the player takes it."""
    head = {
        "rate": sprite.sample_rate_hz,
        "level": sprite.level,
        "release": sprite.release_s,
        "room": sprite.room,
        "sides": sprite.sides,
        "clips": {key: [clip.start_frames, clip.length_frames] for key, clip in sprite.clips.items()},
    }
    return _with_data(head, sprite.audio)


def metronome_json(bank: SoundBank) -> dict[str, list[object]]:
    """The metronome's two clips as [key, rate, gain]."""
    return {"click": _use(bank.click), "accent": _use(bank.accent)}


def _use(use: ClipUse) -> list[object]:
    return [use.key, use.rate, use.gain]


def _with_data(head: Mapping[str, object], audio: bytes) -> dict[str, object]:
    return {**head, "data": base64.b64encode(audio).decode("ascii")}


def _register(name: str, file: Mapping[str, object]) -> bytes:
    text = json.dumps(file, separators=(",", ":"))
    return f"Phrasewright.sound.register({json.dumps(name)},{text});\n".encode()
