"""The whole way in one studio: a pack built from the desk, its room opened, a take played, heard and read.

The microphone plays a file: our own guitar, four notes again and again. What the studio heard is held against it.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from axe_check import violations
from desk_driver import Desk, open_page
from desk_server import Served, served
from fed_microphone import RATE_HZ, browser_hearing, write_wav
from playwright.sync_api import Browser

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
        assert room.evaluate("Phrasewright.player.desk.state") == "playing", (
            "the track plays while the take is recorded"
        )
        room.wait_for_selector("take-recorder:not(.is-recording)", timeout=30_000)
        room.wait_for_selector(".findings li", timeout=90_000)
        assert violations(room) == []
        told = room.inner_text(".findings")
        (summary,) = room.evaluate(f"fetch('/api/lessons/{lesson}/takes').then((answer) => answer.json())")
        take = room.evaluate(f"fetch('/api/takes/{summary['id']}').then((answer) => answer.json())")
        assert errors == []
        room.context.close()
    assert take["findings"][0]["words"] in told
    check_heard(take["notes"], notes)


def check_heard(heard: list[dict[str, float]], played: list[tuple[float, int]]) -> None:
    """The notes of the take are those of the file: pitches, and onsets within 50 ms, wherever the take began in it."""
    assert len(heard) >= 12
    onsets_s = np.array([float(note["at_s"]) for note in heard])
    pitches = np.array([float(note["midi"]) for note in heard])
    best = 0
    for onset_s, _ in played:
        shifted = onsets_s - onsets_s[0] + onset_s
        best = max(
            best, len(matched(note_list(played), NoteList(onset_s=shifted, offset_s=shifted, pitch_midi=pitches)))
        )
    assert best >= 0.9 * len(heard)


def note_list(notes: list[tuple[float, int]]) -> NoteList:
    onsets_s, pitches = (np.array(column, dtype=float) for column in zip(*notes, strict=True))
    return NoteList(onset_s=onsets_s, offset_s=onsets_s + HELD_S, pitch_midi=pitches)
