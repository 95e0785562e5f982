"""A browser whose microphone plays a file, and what the room lit while it listened to it.

Every note of the file is found in the stream by cross-correlation (a busy computer may lose some of the stream). So
every time is one of the audio clock: a note's own, and the moment at which its place on the neck got its class. The
paint comes with the screen's next frame.
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
ROUND_S = (0.1, 0.3)  # of the file before and after an onset, to find it by
LAST_S = 0.6  # before the end of a file, which is never quite silent: there it is found once more
ASTRAY_S = 0.3  # what the stream may have lost by then
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
    """A place that was lit, or a motif. at_s: by the audio clock."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """What came of listening.

    onsets_s: of the file's notes; lost_s: of the stream, meanwhile; input_s: the microphone's delay, so the browser.
    """

    places: list[Lit]
    motifs: list[Lit]
    onsets_s: list[float]
    lost_s: float
    input_s: float


def listen(page: Page, audio: np.ndarray, onsets_s: Sequence[float]) -> Session:
    """Listen live in an open room until the file ends. onsets_s: of its notes, in seconds of the file.

    The file is to be shorter than half a minute: then Chromium's fed microphone sets its clock right, and loses sound.
    """
    page.check("live-listener input")
    page.wait_for_function("document.querySelector('[data-heard]').textContent === 'Listening'")
    page.evaluate(WATCH)
    page.wait_for_timeout(1000 * audio.size / RATE_HZ)
    seen = page.evaluate(
        "({ lit, motifs, clockS, heardBlocks, input: document.querySelector('live-listener').microphone.inputDelayS })"
    )
    stream = np.concatenate([np.asarray(samples, dtype=np.float32) for _, samples in seen["heardBlocks"]])
    first_s = seen["heardBlocks"][0][0] / RATE_HZ
    probes_s = [*onsets_s, audio.size / RATE_HZ - LAST_S]  # what is lost after the last note begins counts too
    found_s = list(found_in(audio, stream, probes_s))
    shifts_s = np.array(found_s) - np.array(probes_s)
    return Session(
        places=_once(seen["lit"], seen["clockS"]),
        motifs=_once(seen["motifs"], seen["clockS"]),
        onsets_s=[first_s + at_s for at_s in found_s[:-1]],
        lost_s=float(np.ptp(shifts_s)),
        input_s=float(seen["input"]),
    )


def shift_frames(audio: np.ndarray, stream: np.ndarray) -> int:
    """How many frames later the file lies in the stream, on the whole."""
    return int(np.argmax(correlate(stream, audio, mode="full", method="fft"))) - (audio.size - 1)


def found_in(audio: np.ndarray, stream: np.ndarray, onsets_s: Sequence[float]) -> Iterator[float]:
    """Where the file's notes begin in the stream, in s."""
    shift = shift_frames(audio, stream)
    for onset_s in onsets_s:
        begin = round((onset_s - ROUND_S[0]) * RATE_HZ)
        shape = audio[begin : begin + round(sum(ROUND_S) * RATE_HZ)]
        from_frame = max(begin + shift - round(ASTRAY_S * RATE_HZ), 0)
        near = stream[from_frame : begin + shift + shape.size + round(ASTRAY_S * RATE_HZ)]
        shift = int(np.argmax(correlate(near, shape, mode="valid", method="fft"))) + from_frame - begin
        yield onset_s + shift / RATE_HZ


def _once(rows: list[tuple[str, float]], clock_s: float) -> list[Lit]:
    """A place stands on several necks, which light together."""
    lit: list[Lit] = []
    for what, at_s in rows:
        if not any(one.what == what and abs(one.at_s - clock_s - at_s) < 0.002 for one in lit[-3:]):
            lit.append(Lit(what=what, at_s=at_s + clock_s))
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
