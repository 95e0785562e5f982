"""Live listening in the student's room: how soon and how rightly a note lights after it sounds at the microphone.

usage: python benchmarks/bench_live.py

First the studies of the demonstration lesson, rendered by our own guitars, are fed to Chromium as its microphone while
the lesson's page listens. The wait is from a note's onset in the stream to its place on the neck getting its class, by
the audio clock: it holds the browser's threads and everything of ours, but not the sound card and not the screen's next
frame. Then recorded notes of real guitars and a solo (the open data, see PHRASEWRIGHT_DATA) are given to the same code
without a microphone: the wait is the sound that it needs.
"""

from __future__ import annotations

import base64
import csv
import os
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from importlib import resources
from pathlib import Path

import numpy as np
import soundfile
from playwright.sync_api import BrowserType, Page, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
DATA = Path(os.environ.get("PHRASEWRIGHT_DATA", ROOT.parent / "shared" / "data"))
sys.path.insert(0, str(ROOT / "tests" / "browser"))

from fed_microphone import RATE_HZ, Session, browser_hearing, listen, matched, write_wav  # noqa: E402
from room_studio import studio_on  # noqa: E402

from phrasewright.app.assignment import assignment_of  # noqa: E402
from phrasewright.app.demo import build_demo  # noqa: E402
from phrasewright.score.model import PartRole  # noqa: E402
from phrasewright.sound.events import TimedNote, timed_notes  # noqa: E402
from phrasewright.sound.render import render_notes  # noqa: E402
from phrasewright.sound.voices import Voice  # noqa: E402

VOICES = (Voice.GUITAR, Voice.ACOUSTIC_GUITAR, Voice.NYLON_GUITAR, Voice.DRIVEN_GUITAR)
TEMPO_BPM = 90.0
HISS_DB = -65.0
LOST_S = 0.001  # a run in which the browser dropped sound, on a busy computer, says nothing and is made again,
TRIES = 5  # so often
LEAD_IN_S = 1.5
MOST_S = 20.0  # of notes at a time: a fed microphone loses sound after half a minute
LABEL_S = 0.06  # onsets of the solo were marked by hand and may be late
SOLO = "05_Rock1-130-A_solo"
NAMES = ("C", "Cs", "D", "Ds", "E", "F", "Fs", "G", "Gs", "A", "As", "B")
HEAR = """async ({ data, rate }) => {
  const { Ear } = await import("/static/room/ear.js");
  const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
  const samples = new Float32Array(bytes.buffer), ear = new Ear(rate), told = [], began = performance.now();
  for (let i = 0; i + 128 <= samples.length; i += 128) told.push(...ear.hear(samples.subarray(i, i + 128)));
  return { told, share: (performance.now() - began) / (1000 * samples.length / rate) };
}"""


def main() -> None:
    """Build the demonstration lesson, feed it, and print one row for each player."""
    print("player            notes  lit rightly  lit wrongly  wait ms: median  95 %  longest")
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        pack = build_demo(folder)[1].pack
        with studio_on(pack) as studio:
            for voice in VOICES:
                _fed(voice, folder, studio.address, playwright.chromium)
            for guitar in ("electric", "acoustic", "nylon"):
                _given(f"real {guitar}", *_recorded_line(guitar), studio.address, playwright.chromium)
            _given("a solo", *_solo(), studio.address, playwright.chromium)


def _fed(voice: Voice, folder: Path, address: str, kind: BrowserType) -> None:
    waits: list[float] = []
    count = extra = void = 0
    for notes, places in _studies(folder):
        audio = _hissing(render_notes(notes, voice, length=_length(notes), seed=1))
        write_wav(folder / "line.wav", audio)
        for attempt in range(TRIES):
            session = _session(folder / "line.wav", audio, notes, address, kind)
            if session.lost_s < LOST_S or attempt == TRIES - 1:
                break
            void += 1
        found, _, more = matched(list(zip(session.onsets_s, places, strict=True)), session.places)
        waits += found
        count += len(notes)
        extra += more
    _row(f"fed {voice}", count, waits, extra)
    print(
        f"  microphone: {1000 * session.input_s:.0f} ms by the browser; runs in which sound was lost: {void}",
        flush=True,
    )


def _session(path: Path, audio: np.ndarray, notes: Sequence[TimedNote], address: str, kind: BrowserType) -> Session:
    with browser_hearing(path, kind) as browser:
        return listen(_room(browser.new_page(), address), audio, [note.onset_s for note in notes])


def _given(name: str, audio: np.ndarray, notes: Sequence[tuple[float, int]], address: str, kind: BrowserType) -> None:
    browser = kind.launch(executable_path="/usr/bin/chromium", args=["--headless", "--no-sandbox", "--disable-gpu"])
    page = _room(browser.new_page(), address)
    data = base64.b64encode(audio.astype("<f4").tobytes()).decode()
    seen = page.evaluate(HEAR, {"data": data, "rate": RATE_HZ})
    browser.close()
    told = [note for note in seen["told"] if note["kind"] == "on"]
    waits = []
    for onset_s, midi in notes:
        mine = [one for one in told if one["midi"] == midi and -LABEL_S <= one["toldS"] - onset_s <= 0.12]
        if mine:
            waits.append(mine[0]["toldS"] - onset_s)
            told.remove(mine[0])
    _row(name, len(notes), waits, len(told))
    print(f"  {100 * seen['share']:.1f} % of one core")


def _row(name: str, notes: int, waits: Sequence[float], extra: int) -> None:
    median, most, longest = (1000 * np.quantile(waits, share) for share in (0.5, 0.95, 1.0))
    print(f"{name:17s} {notes:5d} {len(waits):12d} {extra:12d} {median:16.0f} {most:5.0f} {longest:8.0f}", flush=True)


def _room(page: Page, address: str) -> Page:
    page.goto(address)
    page.wait_for_selector(".is-room")
    return page


def _studies(folder: Path) -> Iterator[tuple[list[TimedNote], list[str]]]:
    """The studies in stretches of at most ``MOST_S``."""
    lesson = folder / "three.toml"
    lesson.write_bytes(resources.files("phrasewright.lesson").joinpath("demo.toml").read_bytes())
    plan = assignment_of(lesson).plan
    for study in plan.studies:
        part = study.score.part(PartRole.LEAD)
        notes = timed_notes(part, plan.lesson.performance(TEMPO_BPM))
        placed = [(note, f"{own.place.string}-{own.place.fret}") for note, own in zip(notes, part.notes, strict=True)]
        for number in range(int(notes[-1].onset_s // MOST_S) + 1):
            some = [one for one in placed if number == one[0].onset_s // MOST_S]
            shift_s = LEAD_IN_S - some[0][0].onset_s
            yield [replace(note, onset_s=note.onset_s + shift_s) for note, _ in some], [place for _, place in some]


def _length(notes: Sequence[TimedNote]) -> int:
    return round((notes[-1].onset_s + notes[-1].duration_s + 1.0) * RATE_HZ)


def _hissing(audio: np.ndarray) -> np.ndarray:
    hiss = np.random.default_rng(3).standard_normal(audio.size) * 10 ** (HISS_DB / 20)
    return (0.5 * audio / np.abs(audio).max() + hiss).astype(np.float32)


def _recorded_line(guitar: str, length_s: float = 90.0) -> tuple[np.ndarray, list[tuple[float, int]]]:
    """Recorded notes from E2 up, one after the other, the hand never far: (audio, onset in s and MIDI number)."""
    sounds = dict(_recorded_notes(guitar))
    pitches, rng = sorted(sounds), np.random.default_rng(2)
    audio, notes = np.zeros(round(length_s * RATE_HZ), dtype=np.float32), []
    at_s, here = 0.5, len(pitches) // 2
    while at_s < length_s - 1.5:
        gap_s = float(rng.choice([0.18, 0.25, 0.375, 0.5, 0.75]))
        lasts = round(gap_s * rng.uniform(0.75, 0.98) * RATE_HZ)
        sound = sounds[pitches[here]][: lasts + RATE_HZ // 6].copy()
        sound[lasts:] *= np.exp(-np.arange(max(sound.size - lasts, 0)) / (0.02 * RATE_HZ))
        begin = round(at_s * RATE_HZ)
        audio[begin : begin + sound.size] += sound
        notes.append((at_s, pitches[here]))
        here = int(np.clip(here + rng.choice([-2, -1, 1, 2]), 0, len(pitches) - 1))
        at_s += gap_s
    return _hissing(audio), notes


def _solo() -> tuple[np.ndarray, list[tuple[float, int]]]:
    """A solo of GuitarSet, with bends and strings that ring on: (audio, onset in s and MIDI number of each note)."""
    audio, _ = soundfile.read(DATA / "guitarset_audio" / f"{SOLO}_mic.wav", dtype="float32")
    table = next((DATA / "guitarset" / "notes").glob(f"{SOLO}*"))
    rows = list(csv.DictReader(table.open(encoding="utf-8")))
    return audio, [(float(row["onset_s"]), round(float(row["midi_pitch_float"]))) for row in rows]


def _recorded_notes(guitar: str) -> Iterator[tuple[int, np.ndarray]]:
    folder = DATA / "guitar_samples"
    for row in csv.DictReader((folder / "true_pitch.csv").open(encoding="utf-8")):
        midi = round(69 + 12 * np.log2(float(row["true_f0_hz"]) / 440.0))
        if row["guitar"] != guitar or midi < 40:
            continue
        named = int(row["midi_from_file_name"])
        audio, _ = soundfile.read(folder / guitar / f"{NAMES[named % 12]}{named // 12 - 1}.mp3", dtype="float32")
        yield midi, audio[int(row["attack_sample_44k1"]) :]


if __name__ == "__main__":
    main()
