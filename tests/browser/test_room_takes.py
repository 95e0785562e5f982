"""The student's room: a take recorded with the track, sent, kept when it cannot be sent, and what was heard in it."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile
from axe_check import violations
from browser_sheet import Sheet, onsets_s, watched
from page_builder import RATE_HZ
from playwright.sync_api import Browser, Page
from room_studio import Studio, studio_on

pytestmark = pytest.mark.browser

LOOP_BACK = (Path(__file__).parent / "loop_back.js").read_text(encoding="utf-8")
REFUSED = """navigator.mediaDevices.getUserMedia = async () => { throw new DOMException("no", "NotAllowedError"); }"""
FINDINGS = [
    {
        "topic": "timing",
        "words": "The second phrase hurries by about 40 ms.",
        "try": "Count the silence before it aloud.",
        "confidence": 0.9,
        "bars": [2],
        "at_s": 2.0,
        "end_s": 3.2,
    },
    {
        "topic": "tuning",
        "words": "Your guitar is in tune.",
        "try": "Keep on tuning before every take.",
        "confidence": 1.0,
        "bars": [],
        "at_s": None,
        "end_s": None,
    },
]
NOTES = [
    {
        "at_s": 0.5 * index,
        "end_s": 0.5 * index + 0.45,
        "name": "E3",
        "midi": 52,
        "string": 4,
        "fret": 2,
        "bar": 1 + index // 4,
        "beat": 1.0 + index % 4,
        "written": index,
        "verdict": "played",
    }
    for index in range(14)
]
TEMPO = 400
BAR_S = 4 * 60 / TEMPO
BLOCK_S = 0.003  # the browser's audio thread works in blocks of 128 frames: 2.9 ms
TRIES = 4  # for a take of which a busy browser loses no sound
NO_STORE = "indexedDB.open = () => { throw new DOMException('no', 'SecurityError'); }"
OpenRoom = Callable[..., Sheet]


@pytest.fixture
def studio(folder: Path) -> Iterator[Studio]:
    with studio_on(folder) as studio:
        studio.findings, studio.notes = FINDINGS, NOTES
        file = io.BytesIO()
        soundfile.write(file, np.zeros(8 * RATE_HZ), RATE_HZ, format="WAV", subtype="PCM_16")
        studio.sound = file.getvalue()
        yield studio
        assert studio.unsigned == [], "every change carries the token"


@pytest.fixture
def open_room(browser: Browser, studio: Studio) -> Iterator[OpenRoom]:
    contexts = []

    def opener(init: str = LOOP_BACK, **options: object) -> Sheet:
        context = browser.new_context(**{"viewport": {"width": 1280, "height": 900}, **options})
        contexts.append(context)
        context.add_init_script(init)
        sheet = watched(context.new_page(), studio.address.split("/room")[0])
        sheet.page.goto(studio.address)
        sheet.page.wait_for_selector(".is-room")
        return sheet

    yield opener
    for context in contexts:
        context.close()


def said(page: Page) -> str:
    return page.inner_text('take-recorder [data-at="said"]')


def record(page: Page, piece: str) -> None:
    """A fast take, to its end."""
    page.evaluate(f"Phrasewright.player.desk.choose('{piece}'); Phrasewright.player.desk.setTempo({TEMPO})")
    page.click('[data-act="record"]')
    page.wait_for_selector("take-recorder.is-recording")
    page.wait_for_selector("take-recorder:not(.is-recording)")


def spacing_is_kept(ticks: np.ndarray, offset_s: float) -> bool:
    """Whether a take lost no sound before its first note: its first ticks lie whole beats apart."""
    before = ticks[ticks < offset_s + BLOCK_S]
    beats = np.diff(before) / (BAR_S / 4)
    return bool(np.all(np.abs(beats - np.round(beats)) * BAR_S / 4 < BLOCK_S))


def test_the_delay_is_measured_and_taken_out(open_room: OpenRoom, studio: Studio) -> None:
    """With a headphone at the microphone the written first note lies within a block of where the take's offset says."""
    sheet = open_room()
    page = sheet.page
    assert "estimated" in page.inner_text('[data-at="delay"]')
    page.click('[data-act="measure"]')
    page.wait_for_function("document.querySelector('[data-at=said]').textContent.startsWith('Measured')")
    measured_ms = int(page.inner_text('[data-at="delay"]').split(" ms")[0])
    assert measured_ms >= 120
    assert page.evaluate("askedOfMicrophone.audio") == {
        "echoCancellation": False,
        "noiseSuppression": False,
        "autoGainControl": False,
    }
    for _ in range(TRIES):
        studio.uploads.clear()
        record(page, "ticks")
        page.wait_for_selector(".findings li")  # sent, listened to, shown
        (upload,) = studio.uploads
        take, rate = soundfile.read(io.BytesIO(upload.wav), dtype="float32")
        assert (rate, take.ndim) == (RATE_HZ, 1)
        offset_s = float(upload.asked["offset_s"])
        ticks = onsets_s(take / np.abs(take).max())
        if spacing_is_kept(ticks, offset_s):
            break
        page.reload()
        page.wait_for_selector(".is-room")
    assert {key: upload.asked[key] for key in ("piece", "tempo_bpm", "alone")} == {
        "piece": "ticks",
        "tempo_bpm": str(TEMPO),
        "alone": "true",
    }
    assert upload.headers["Content-Type"] == "audio/wav"
    assert np.abs(ticks - offset_s).min() < BLOCK_S
    assert np.abs(ticks - (offset_s - BAR_S)).min() < BLOCK_S, "the count-in is a bar before"
    assert sheet.trouble == []


def test_a_loop_is_recorded_once_through(open_room: OpenRoom, studio: Studio) -> None:
    """Bars 3 to 4 in a loop: the take ends with them, and its offset is where bar 1 would have been."""
    page = open_room().page
    page.evaluate("localStorage.setItem('phrasewright:room', JSON.stringify({ delayS: 0.1, headphones: false }))")
    page.reload()
    page.wait_for_selector(".is-room")
    page.evaluate("Phrasewright.player.desk.choose('ticks'); Phrasewright.player.desk.setLoop(2, 3, true)")
    assert "bars 3 to 4" in page.inner_text('[data-at="what"]')
    record(page, "ticks")
    page.wait_for_selector(".findings li")
    (upload,) = studio.uploads
    assert upload.asked["alone"] == "false"
    take, _ = soundfile.read(io.BytesIO(upload.wav))
    count_in_s = float(upload.asked["offset_s"]) + BAR_S  # bar 3 less the bar of count-in
    assert onsets_s(take / np.abs(take).max())[0] == pytest.approx(count_in_s, abs=0.08), (
        "0.1 s is only about the delay"
    )
    assert 3 * BAR_S < len(take) / RATE_HZ < 3 * BAR_S + 2.0


def test_a_take_that_cannot_be_sent_is_kept(open_room: OpenRoom, studio: Studio) -> None:
    """Refused by the studio it stays in the browser, is offered again after a reload, and goes on its way then."""
    studio.refuses = True
    page = open_room().page
    record(page, "ticks")
    page.wait_for_selector("text=The studio is full. Send it later.")
    page.reload()
    page.wait_for_selector(".sending >> text=This take is kept in this browser")
    assert violations(page) == []
    with page.expect_download() as download:
        page.click(".sending >> text=Save it as a file")
    assert download.value.suggested_filename.startswith("ticks-")
    saved = Path(download.value.path()).read_bytes()
    studio.refuses = False
    page.click(".sending >> text=Send it")
    page.wait_for_selector(".findings li")
    assert studio.uploads[0].wav == saved
    assert page.locator(".sending").count() == 0
    page.reload()
    page.wait_for_selector(".is-room")
    assert page.locator(".sending").count() == 0, "what was sent is not kept"


def test_a_change_ends_the_take(open_room: OpenRoom, studio: Studio) -> None:
    """A tempo changed while it plays ends the take there, and says so; what was played is sent."""
    page = open_room().page
    page.evaluate("Phrasewright.player.desk.choose('ex-2')")
    page.keyboard.press("r")
    page.wait_for_function("Phrasewright.player.desk.state === 'playing'")
    page.wait_for_timeout(1200)
    page.keyboard.press("+")
    page.wait_for_selector("text=the take ends there")
    page.wait_for_selector(".findings li")
    assert len(studio.uploads) == 1


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1280, "light")])
def test_what_was_heard(open_room: OpenRoom, studio: Studio, width: int, scheme: str) -> None:
    """Findings stand in a list and beside their bars, with how sure they are; all fits; WCAG 2.2 is kept."""
    studio.heard("monday")
    sheet = open_room(viewport={"width": width, "height": 850}, color_scheme=scheme)
    page = sheet.page
    page.click("[data-take=monday] >> text=What was heard")
    page.wait_for_selector(".findings li")
    assert page.locator(".take-open >> text=You played 14 notes in 4 phrases.").is_visible()
    assert page.locator(".findings li").count() == 2
    assert page.locator(".findings >> text=Fairly sure.").count() == 1
    beside = page.locator("#work-ex-2 .heard-note:visible")
    assert beside.count() == 1
    assert "Bar 2 · heard in your take" in beside.inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert violations(page) == []
    assert sheet.trouble == []


def test_a_finding_is_heard_and_lit(open_room: OpenRoom, studio: Studio) -> None:
    """By the keyboard alone: the moment sounds, its notes and places light, it stops by itself or when told."""
    studio.heard("monday")
    page = open_room().page
    page.focus("[data-take=monday] button")
    page.keyboard.press("Enter")
    page.wait_for_selector(".findings li")
    assert page.evaluate("document.activeElement.tagName") == "H3"
    page.focus(".findings .hear")
    page.keyboard.press("Enter")
    page.wait_for_selector(".findings .hear.is-playing")
    page.wait_for_selector("#work-ex-2 .systems.is-wide .is-now")
    page.wait_for_selector('[data-place="4-2"].is-now', state="attached")
    page.wait_for_selector("[id^=ex-2-n].is-now", state="attached")
    assert page.inner_text(".findings .hear.is-playing").startswith("Stop")
    page.wait_for_selector(".findings .hear:not(.is-playing)", timeout=4000)  # 0.5 + 1.2 + 0.3 s
    assert page.locator(".is-now").count() == 0
    page.click(".taken-notes summary")
    page.click(".taken-notes .hear >> nth=8")
    page.wait_for_selector('.taken-notes .hear.is-playing >> text="Bar 3, beat 1: E3, string 4, fret 2, played"')
    page.wait_for_selector("#work-ex-2 [id^=ex-2-n8].is-now")
    page.keyboard.press("Enter")
    assert page.locator(".is-playing").count() == 0


def test_a_deleted_take_comes_back(open_room: OpenRoom, studio: Studio) -> None:
    """Delete asks nothing, because it can be undone on the spot."""
    studio.heard("monday")
    page = open_room().page
    page.click("[data-take=monday] >> text=Delete")
    page.wait_for_selector("text=is deleted")
    assert studio.deleted == {"monday"}
    page.keyboard.press("Enter")  # the focus went to the way back
    page.wait_for_selector("[data-take=monday] >> text=What was heard")
    assert studio.deleted == set()


@pytest.mark.parametrize(
    ("init", "words"),
    [
        (REFUSED, "The browser may not use the microphone."),
        ("Object.defineProperty(navigator, 'mediaDevices', { value: undefined })", "only over https"),
    ],
    ids=["refused", "not there"],
)
def test_without_a_microphone(open_room: OpenRoom, init: str, words: str) -> None:
    """Plain words, for recording and for listening; the page plays on."""
    sheet = open_room(init)
    page = sheet.page
    page.keyboard.press("h")
    page.wait_for_function("words => document.querySelector('[data-heard]').textContent.includes(words)", arg=words)
    assert not page.is_checked("live-listener input")
    page.click('[data-act="record"]')
    page.wait_for_selector("take-recorder:not(.is-recording)")
    assert words in said(page)
    sheet.play("ex-1")
    assert sheet.trouble == []


def test_a_browser_that_keeps_nothing(open_room: OpenRoom, studio: Studio) -> None:
    """It is told so before the first take, and the take is sent all the same."""
    page = open_room(LOOP_BACK + NO_STORE).page
    assert "keeps nothing" in said(page)
    record(page, "ticks")
    page.wait_for_selector(".findings li")
    assert len(studio.uploads[0].wav) > 2 * RATE_HZ


def test_delays_that_do_not_agree_are_refused(open_room: OpenRoom) -> None:
    """Chirps are found in noise to the sample; too few, or scattered ones, give no delay."""
    page = open_room(REFUSED).page
    found = page.evaluate(
        """async () => {
          const { chirp, delaysIn, agreed } = await import("/static/room/delay.js");
          const rate = 44100, shape = chirp(rate), starts = [0, 1, 2, 3, 4, 5, 6, 7].map((n) => n * 0.75 * rate);
          const sound = (delays) => {
            let seed = 7;
            const noise = () => ((seed = (seed * 16807) % 2147483647) / 2147483647 - 0.5) * 0.02;
            const samples = Float32Array.from({ length: 8 * 0.75 * rate }, noise);
            delays.forEach((delay, n) => shape.forEach((x, i) => (samples[starts[n] + delay + i] += 0.2 * x)));
            return samples;
          };
          const judge = (delays) => agreed(delaysIn(sound(delays), starts, rate));
          const even = [5000, 5001, 5000, 4999, 5000, 5000, 5001, 5000];
          const wild = [900, 4000, 8000, 5000, 12000, 16000, 2000, 3000];
          return { even: judge(even), few: judge(even.slice(0, 3)), wild: judge(wild) };
        }"""
    )
    assert found == {"even": pytest.approx(5000 / 44100, abs=1e-6), "few": None, "wild": None}


def test_print_leaves_the_room_out(open_room: OpenRoom, studio: Studio) -> None:
    """On paper there is the lesson, and no recorder, no takes, no findings."""
    studio.heard("monday")
    page = open_room().page
    page.click("[data-take=monday] >> text=What was heard")
    page.wait_for_selector(".heard-note")
    page.emulate_media(media="print")
    for gone in ("#record", "live-listener", ".heard-note"):
        assert not page.locator(gone).first.is_visible()
