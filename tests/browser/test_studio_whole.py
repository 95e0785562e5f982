"""The whole way in one studio: a pack built from the desk, its room opened, a take played, heard and read.

The microphone plays a file: our own guitar, four notes again and again. What the studio heard is held against it.
"""

from __future__ import annotations

import io
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile
from axe_check import violations
from desk_driver import Desk, open_page
from desk_server import Served, served
from fed_microphone import RATE_HZ, browser_hearing, found_in, shift_frames, write_wav
from playwright.sync_api import Browser, Page

from phrasewright.listen.align.matching import NoteList, matched
from phrasewright.sound.voices import Voice, render_note

pytestmark = pytest.mark.browser

LESSON = """\
[lesson]
title = "Four bars"
[scale]
root = "E"
[position]
style = "open"
[motifs]
sizes = [3]
shelf = 3
[band]
tempos = [120]
choruses = 1
chart = "| Em7 | A7 | Em7 | B7 |"
files = ["ogg"]
stems = []
[exercises]
kinds = ["each-alone"]
"""
PITCHES = (64, 67, 69, 71)
EACH_S, HELD_S = 0.5, 0.4
FILE_S = 40.0
WATCH = """() => {
  window.lit = [];
  new MutationObserver((records) => records.forEach(({ target }) => {
    if (target.classList.contains("is-now") && target.dataset.note) lit.push(Number(target.dataset.note));
  })).observe(document.querySelector("#work-study-1 .systems"), { subtree: true, attributeFilter: ["class"] });
}"""


def melody() -> tuple[np.ndarray, list[tuple[float, int]]]:
    """The file, and its notes: onset in s, MIDI pitch."""
    audio = np.zeros(round(FILE_S * RATE_HZ), dtype=np.float32)
    notes = []
    for number in range(int(FILE_S / EACH_S) - 1):
        pitch, onset_s = PITCHES[number % len(PITCHES)], number * EACH_S
        sound = render_note(Voice.GUITAR, pitch, HELD_S, 0.8)
        begin = round(onset_s * RATE_HZ)
        audio[begin : begin + len(sound)] += sound[: len(audio) - begin]
        notes.append((onset_s, pitch))
    return audio, notes


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("harbour")
    (folder / "four-bars.toml").write_text(LESSON, encoding="utf-8")
    with served(folder) as found:
        yield found


def build_pack(desk: Desk) -> None:
    page = desk.page
    page.click("#build-pack")
    page.wait_for_selector("#pack-progress", state="visible")
    page.wait_for_selector("#open-pack", timeout=90_000)
    assert "up to date" in page.locator(".pack-words").inner_text()


def test_a_pack_is_built_opened_played_to_and_the_take_is_read(
    browser: Browser, studio: Served, tmp_path: Path
) -> None:
    listed = open_page(browser, studio.url)
    listed.page.click("text=Four bars")
    listed.page.wait_for_url("**/desk/*/")
    listed.page.wait_for_selector("html.is-ready")
    lesson = listed.lesson_id
    build_pack(listed)
    assert violations(listed.page) == []
    listed.page.click("#open-pack")
    listed.page.wait_for_selector("html.is-live")
    assert listed.page.locator("h1").inner_text() == "Four bars"
    assert listed.errors == []
    listed.page.context.close()

    audio, notes = melody()
    write_wav(tmp_path / "played.wav", audio)
    with browser_hearing(tmp_path / "played.wav", browser.browser_type) as hearing:
        room = hearing.new_context(viewport={"width": 1280, "height": 900}).new_page()
        errors: list[str] = []
        room.on("pageerror", lambda error: errors.append(str(error)))
        room.goto(f"{studio.url}/room/{lesson}/")
        room.wait_for_selector(".is-room")
        room.evaluate("Phrasewright.player.desk.choose('study-1')")
        room.click('[data-act="record"]')
        room.wait_for_selector("take-recorder.is-recording")
        playing = any(_soon(room, "Phrasewright.player.desk.state === 'playing'") for _ in range(80))
        assert playing, "the track plays while the take is recorded"
        room.wait_for_selector("take-recorder:not(.is-recording)", timeout=30_000)
        room.wait_for_selector(".findings li", timeout=90_000)
        assert violations(room) == []
        told = room.inner_text(".findings")
        (summary,) = room.evaluate(f"fetch('/api/lessons/{lesson}/takes').then((answer) => answer.json())")
        take = room.evaluate(f"fetch('/api/takes/{summary['id']}').then((answer) => answer.json())")
        check_lit(take["notes"], lit_meanwhile(room))
        room.locator(f'[data-take="{summary["id"]}"] button', has_text="Delete").click()
        room.wait_for_selector("text=is deleted.")
        room.click("text=Bring it back")
        room.wait_for_selector(f'[data-take="{summary["id"]}"] >> text=What was heard')
        assert errors == []
        room.context.close()
    assert take["findings"][0]["words"] in told
    with urllib.request.urlopen(f"{studio.url}{take['sound']}") as answer:
        stream, rate_hz = soundfile.read(io.BytesIO(answer.read()), dtype="float32")
    assert rate_hz == RATE_HZ
    check_heard(take["notes"], audio, stream, notes)


def _soon(page: Page, condition: str) -> bool:
    page.wait_for_timeout(100)
    return bool(page.evaluate(condition))


def lit_meanwhile(room: Page) -> set[int]:
    """The notes of the study, by number, that light in its notation while the take is heard from end to end."""
    room.evaluate(WATCH)
    hear = room.locator(".take-line .hear")
    hear.click()
    assert hear.inner_text() == "Stop"
    assert any(_soon(room, "!document.querySelector('.take-line .hear.is-playing')") for _ in range(400))
    assert hear.inner_text() == "Hear the take"
    return set(room.evaluate("lit"))


def check_lit(heard: list[dict[str, int | None]], lit: set[int]) -> None:
    """Those that the studio took something heard for, and no others; one may be gone between two frames."""
    written = {note["written"] for note in heard} - {None}
    assert written
    assert lit <= written
    assert len(written - lit) <= 1


def check_heard(
    heard: list[dict[str, float]], audio: np.ndarray, stream: np.ndarray, played: list[tuple[float, int]]
) -> None:
    """The notes heard are those of the file, wherever the take began in it: onsets within 50 ms, right pitches.

    The browser's fed microphone loses some sound now and then, so each note is looked for in the take by its shape.
    """
    shift_s = shift_frames(audio, stream) / RATE_HZ
    inside = [one for one in played if 0.15 <= one[0] + shift_s <= stream.size / RATE_HZ - 0.5]
    onsets_s = np.array(list(found_in(audio, stream, [onset_s for onset_s, _ in inside])))
    true = NoteList(
        onset_s=onsets_s, offset_s=onsets_s + HELD_S, pitch_midi=np.array([float(one) for _, one in inside])
    )
    told_s = np.array([float(note["at_s"]) for note in heard])
    told = NoteList(onset_s=told_s, offset_s=told_s, pitch_midi=np.array([float(note["midi"]) for note in heard]))
    pairs = len(matched(true, told))
    assert len(inside) >= 12
    assert pairs >= 0.9 * len(inside)
    assert pairs >= 0.9 * (len(heard) - 2), "the first and the last may be cut"
