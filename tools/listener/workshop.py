"""Open the workshop: load what was gathered, build guitars, so that takes can be made."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from tools.listener.bank import dead_strokes, gathered_guitars, load, modelled_guitars
from tools.listener.spoil import Spoiler
from tools.listener.takes import Workshop


def open_workshop(folder: Path, *, modelled: int, seed: int, workers: int, recorded: bool = True) -> Workshop:
    """recorded: with the recorded notes; without them the training has never heard those guitars."""
    pieces = load(folder)
    guitars = gathered_guitars(pieces)
    groups = [
        [guitar for guitar in guitars if guitar.name.startswith("recorded")],
        [guitar for guitar in guitars if guitar.name.startswith("font")],
        modelled_guitars(modelled, seed, workers),
    ]
    weights = [0.34, 0.28, 0.38] if recorded else [0.0, 0.4, 0.6]
    sound = lambda kind: [audio.astype(np.float32) / 32_000 for name, audio in pieces.items() if name.startswith(kind)]  # noqa: E731
    lists = [rows for name, rows in pieces.items() if name.startswith("list/") and len(rows) > 20]
    return Workshop(groups, weights, lists, dead_strokes(40, seed), Spoiler(sound("band/"), sound("speech/")))
