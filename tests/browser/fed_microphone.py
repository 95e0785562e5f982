"""A browser whose microphone plays a file, and what the room lit while it listened to it.

The file is found in the stream by cross-correlation, so that every time is one of the audio clock: a note's own, and
the moment at which its place on the neck got its class (the paint comes with the screen's next frame).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from playwright.sync_api import Browser, BrowserType, Page
from scipy.signal import correlate

RATE_HZ = 44_100
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--use-fake-ui-for-media-stream")
EARLY_S, LATE_S = 0.005, 0.15  # a lit note belongs to one that began so long before
WATCH = """() => {
  const listener = document.querySelector("live-listener"), context = Phrasewright.player.desk.context;
  Object.assign(window, { lit: [], heardBlocks: [], clockS: -Infinity, motifs: [] });
  const node = listener.microphone.node("sound-keeper");
  node.port.onmessage = ({ data }) => data.samples && heardBlocks.push([data.frame, Array.from(data.samples)]);
  node.port.postMessage("keep");
  setInterval(() => (clockS = Math.max(clockS, context.currentTime - performance.now() / 1000)), 4);
  const observer = new MutationObserver((records) => records.forEach(({ target, oldValue }) => {
    const has = target.classList.contains("is-heard");
    if (!has || (oldValue ?? "").includes("is-heard")) return;
    if (target.dataset.place) lit.push([target.dataset.place, performance.now() / 1000]);
    else motifs.push([target.dataset.piece, performance.now() / 1000]);
  }));
  const options = { attributes: true, attributeFilter: ["class"], attributeOldValue: true };
  document.querySelectorAll("[data-place], .motif").forEach((one) => observer.observe(one, options));
}"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lit:
    """A place that was lit, or a motif. at_s: second of the file, by the audio clock."""

    what: str
    at_s: float


@contextmanager
def browser_hearing(path: Path, kind: BrowserType) -> Iterator[Browser]:
    """Chromium whose microphone plays a WAV file once. kind: how Playwright launches it."""
    flags = (*FLAGS, "--use-fake-device-for-media-stream", f"--use-file-for-fake-audio-capture={path}%noloop")
    chromium = kind.launch(executable_path="/usr/bin/chromium", args=list(flags))
    yield chromium
    chromium.close()


def write_wav(path: Path, audio: np.ndarray) -> None:
    """Sound for the microphone. audio: float (n,) at ``RATE_HZ``."""
    soundfile.write(path, audio, RATE_HZ, subtype="PCM_16")


def listen(page: Page, audio: np.ndarray) -> tuple[list[Lit], list[Lit], float]:
    """Listen live in an open room until the file ends: places and motifs that lit, the browser's input delay in s."""
    page.check("live-listener input")
    page.wait_for_function("document.querySelector('[data-heard]').textContent === 'Listening'")
    page.evaluate(WATCH)
    page.wait_for_timeout(1000 * audio.size / RATE_HZ)
    seen = page.evaluate(
        "({ lit, motifs, clockS, heardBlocks, input: document.querySelector('live-listener').microphone.inputDelayS })"
    )
    stream = np.concatenate([np.asarray(samples, dtype=np.float32) for _, samples in seen["heardBlocks"]])
    matched = correlate(stream, audio.astype(np.float32), mode="full", method="fft")
    start_frame = seen["heardBlocks"][0][0] + int(np.argmax(matched)) - (audio.size - 1)
    shift_s = seen["clockS"] - start_frame / RATE_HZ
    return _once(seen["lit"], shift_s), _once(seen["motifs"], shift_s), float(seen["input"])


def _once(rows: list[tuple[str, float]], shift_s: float) -> list[Lit]:
    """A place stands on several necks, which light together."""
    lit: list[Lit] = []
    for what, at_s in rows:
        if not any(one.what == what and abs(one.at_s - shift_s - at_s) < 0.002 for one in lit[-3:]):
            lit.append(Lit(what=what, at_s=at_s + shift_s))
    return lit


def matched(notes: Sequence[tuple[float, str]], lit: Sequence[Lit]) -> tuple[list[float], int, int]:
    """Seconds from each note (its onset in s, its place) to its light; notes not lit; lights of no note."""
    free, waits = list(lit), []
    for onset_s, place in notes:
        for one in free:
            if one.what == place and -EARLY_S <= one.at_s - onset_s <= LATE_S:
                waits.append(one.at_s - onset_s)
                free.remove(one)
                break
    return waits, len(notes) - len(waits), len(free)
