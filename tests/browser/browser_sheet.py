"""An open page as the tests see it, and what is heard in its sound."""

from __future__ import annotations

import base64
from dataclasses import dataclass, field

import numpy as np
from page_builder import RATE_HZ
from playwright.sync_api import Page, Request


@dataclass
class Sheet:
    """An open page; trouble: errors it reported and addresses it asked for outside its folder."""

    page: Page
    trouble: list[str] = field(default_factory=list)

    def render(self, piece: str, settings: dict[str, object], seconds: float, **more: object) -> np.ndarray:
        """Play a piece into memory: float32 (n,), one channel, the left one unless told."""
        order = {"piece": piece, "settings": settings, "seconds": seconds, **more}
        text = self.page.evaluate("order => offline.render(order)", order)
        return np.frombuffer(base64.b64decode(text), dtype=np.float32)

    def play(self, piece: str) -> None:
        """Press a piece's own play button and wait until it sounds."""
        self.page.click(f'[data-play="{piece}"]')
        self.page.wait_for_function("Phrasewright.player.desk.state === 'playing'")


def onsets_s(samples: np.ndarray, *, quiet_s: float = 0.035) -> np.ndarray:
    """Where sound begins after quiet, in seconds: a threshold crossing with nothing in the time before it."""
    loud = np.flatnonzero(np.abs(samples) > 0.004)
    starts = np.flatnonzero(np.diff(loud, prepend=-RATE_HZ) > quiet_s * RATE_HZ)
    return loud[starts] / RATE_HZ


def watched(page: Page, home: str) -> Sheet:
    """Note every error, warning and request outside a folder. What is asked for outside never gets an answer."""
    sheet = Sheet(page)
    page.on("pageerror", lambda error: sheet.trouble.append(str(error)))
    page.on("console", lambda line: sheet.trouble.append(line.text) if line.type in ("error", "warning") else None)

    def note(request: Request) -> None:
        if not request.url.startswith((home, "data:", "blob:")):
            sheet.trouble.append(f"asked for {request.url}")

    page.on("request", note)
    return sheet
