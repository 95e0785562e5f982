"""A teacher's recording on the page: bars begin where the beat map says, and bars laid end to end are the recording."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from browser_sheet import Sheet, onsets_s
from page_builder import A7, EM, RATE_HZ, content, flac, lead_score, measures, piece
from playwright.sync_api import Browser

from phrasewright.engrave.page.content import PageContent, TrackView
from phrasewright.engrave.page.piece_view import PieceView
from phrasewright.engrave.page.recorded import recorded_sprite
from phrasewright.engrave.page.render import render_page
from phrasewright.score.model import Score
from phrasewright.score.pace import Pace

pytestmark = pytest.mark.browser

OFFLINE = (Path(__file__).parent / "offline.js").read_text(encoding="utf-8")
BARS = 6
START_S = 0.1
ONLY_RECORDING = ["lead", "chords", "bass", "drums", "click"]
GAPS_S = 0.5 + 0.03 * np.sin(np.arange(BARS * 4) / 3)  # beats as people play them
BEATS_S = 0.7 + np.concatenate([[0.0], np.cumsum(GAPS_S)])
LINES_S = BEATS_S[::4]


def ticks() -> np.ndarray:
    """A stroke of 20 ms on every beat."""
    audio = np.zeros(round((BEATS_S[-1] + 1.0) * RATE_HZ), dtype=np.float32)
    stroke = 0.4 * np.cos(2 * np.pi * 1500 * np.arange(882) / RATE_HZ) * np.exp(-np.arange(882) / 150)
    for beat_s in BEATS_S:
        at = round(beat_s * RATE_HZ)
        audio[at : at + len(stroke)] += stroke.astype(np.float32)
    return audio


def hum() -> np.ndarray:
    """Sound without a gap."""
    times = np.arange(round((BEATS_S[-1] + 1.0) * RATE_HZ)) / RATE_HZ
    return (0.2 * np.sin(2 * np.pi * 220 * times) + 0.1 * np.sin(2 * np.pi * 331.7 * times)).astype(np.float32)


def recorded(name: str, bpm: float) -> PieceView:
    bars = measures([EM, A7] * (BARS // 2))
    score = Score(title=f"Recording at {bpm:g}", measures=bars, parts=lead_score("x", BARS).parts, fifths=1)
    knots = tuple((Fraction(number), float(beat_s) * bpm / 60) for number, beat_s in enumerate(BEATS_S))
    return replace(piece(score, name), tempo_bpm=bpm, tempos_bpm=(90.0, 120.0), pace=Pace(knots), recording=name)


def with_recordings() -> PageContent:
    plain = content(room=0.0)
    track = TrackView(
        piece=recorded("recording-90", 90.0), words="The recording.", others=(recorded("recording-120", 120.0),)
    )
    sprites = {
        "recording-90": recorded_sprite(hum(), RATE_HZ, LINES_S, lambda audio, _: flac(audio)),
        "recording-120": recorded_sprite(ticks(), RATE_HZ, LINES_S, lambda audio, _: flac(audio)),
    }
    return replace(plain, track=track, bank=replace(plain.bank, recordings=sprites))


def with_a_pickup() -> PageContent:
    """The first bar has the number 0, and stands in the chart before bar 1."""
    plain = with_recordings()
    bars = tuple(replace(bar, number=index, chart_bar=index) for index, bar in enumerate(recorded("x", 90.0).bars))
    pieces = [replace(piece, bars=bars) for piece in (plain.track.piece, *plain.track.others)]
    return replace(plain, track=replace(plain.track, piece=pieces[0], others=tuple(pieces[1:])))


@pytest.fixture(scope="module")
def desk(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Sheet]:
    """The page with its recordings, opened from disk."""
    yield from opened(with_recordings(), browser, tmp_path_factory.mktemp("recorded"))


@pytest.fixture
def desk_with_a_pickup(browser: Browser, tmp_path: Path) -> Iterator[Sheet]:
    yield from opened(with_a_pickup(), browser, tmp_path)


def opened(page_content: PageContent, browser: Browser, folder: Path) -> Iterator[Sheet]:
    for path, data in render_page(page_content).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    page = browser.new_page()
    sheet = Sheet(page)
    page.on("pageerror", lambda error: sheet.trouble.append(str(error)))
    page.goto(folder.as_uri() + "/index.html")
    page.evaluate(OFFLINE)
    yield sheet
    page.close()
    assert sheet.trouble == []


def test_a_loop_of_bars_3_and_4_keeps_the_map(desk: Sheet) -> None:
    """Every stroke of two passes lies within 5 ms of its beat in the recording."""
    settings = {"bpm": 120.0, "from": 2, "to": 3, "loop": True}
    inside = BEATS_S[8:16] - BEATS_S[8]
    span_s = BEATS_S[16] - BEATS_S[8]
    sound = desk.render("recording-120", settings, START_S + 2 * span_s - 0.1, bar=2, at=START_S, muted=ONLY_RECORDING)
    wanted = START_S + np.concatenate([inside, span_s + inside])
    found = onsets_s(sound, quiet_s=0.1)
    assert found.size == wanted.size
    np.testing.assert_allclose(found, wanted, atol=0.005)


def test_bars_laid_end_to_end_are_the_recording(desk: Sheet) -> None:
    """No click, no gap and no bump at bar lines: within what a wave moves in two samples."""
    settings = {"bpm": 90.0, "from": 0, "to": BARS - 1}
    sound = desk.render("recording-90", settings, 13.0, at=START_S, muted=ONLY_RECORDING)
    first, at = round(LINES_S[0] * RATE_HZ), round(START_S * RATE_HZ)
    length = round((LINES_S[-1] - LINES_S[0] - 0.5) * RATE_HZ)
    assert length > 10 * RATE_HZ
    assert np.abs(sound[at : at + length] - hum()[first : first + length]).max() < 0.02


def test_a_page_that_stalls_takes_the_recording_up_where_it_should_be(desk: Sheet) -> None:
    """Woken in the middle of bar 2, the rest of that bar sounds in its place, and bar 1 no more."""
    woken_s = START_S + float(BEATS_S[5] - BEATS_S[0]) + 0.2
    script = """async ([piece, muted, at, now]) => {
        const { context, transport } = await offline.prepare(6, muted, false, 1, piece);
        transport.start(offline.pieceOf(piece), offline.settingsOf({ bpm: 120, to: 3 }), 0, at);
        transport.fill(6, now);
        return Array.from((await context.startRendering()).getChannelData(0));
    }"""
    order = ["recording-120", ONLY_RECORDING, START_S, woken_s]
    found = onsets_s(np.array(desk.page.evaluate(script, order)), quiet_s=0.1)
    played = START_S + BEATS_S[:16] - BEATS_S[0]
    wanted = played[(played > woken_s) & (played < 6.0)]
    assert found.size == wanted.size > 4
    np.testing.assert_allclose(found, wanted, atol=0.005)


def test_other_tempos_are_other_recordings(desk: Sheet) -> None:
    """A tempo between takes the nearest recording, and says so; the tempo of a recording is its own."""
    page = desk.page
    page.evaluate("Phrasewright.player.desk.choose('recording-90')")
    page.evaluate("Phrasewright.player.desk.setTempo(111)")
    assert page.evaluate("[Phrasewright.player.desk.piece.id, Phrasewright.player.desk.bpm]") == ["recording-120", 120]
    assert "which is nearest" in page.inner_text("[aria-live]")
    page.evaluate("Phrasewright.player.desk.setPercent(75)")
    assert page.evaluate("Phrasewright.player.desk.piece.id") == "recording-90"
    for step, name in ((2, "recording-120"), (2, "recording-120"), (-2, "recording-90"), (-2, "recording-90")):
        page.evaluate("step => Phrasewright.player.desk.stepTempo(step)", step)
        assert page.evaluate("Phrasewright.player.desk.piece.id") == name


def test_the_next_tempo_goes_on_with_the_same_bars(desk: Sheet) -> None:
    """The loop, the place in it and the playing are kept from one recording to the other."""
    page = desk.page
    page.evaluate(
        """async () => {
            const { desk } = Phrasewright.player;
            desk.choose("recording-90");
            desk.keep({ countIn: "off" });
            desk.setLoop(2, 3, true);
            await desk.play();
        }"""
    )
    page.wait_for_function("Phrasewright.player.desk.state === 'playing'")
    page.evaluate("Phrasewright.player.desk.stepTempo(2)")
    page.wait_for_function("Phrasewright.player.desk.state === 'playing'")
    state = "(({ piece, loop, cue }) => [piece.id, loop.on, loop.from, loop.to, cue])(Phrasewright.player.desk)"
    assert page.evaluate(state)[:4] == ["recording-120", True, 2, 3]
    assert page.evaluate(state)[4] in (2, 3)
    page.evaluate("Phrasewright.player.desk.stop(); Phrasewright.player.desk.setLoop(0, 5, false)")


def test_the_lead_of_the_study_is_lit_over_it(desk: Sheet) -> None:
    """Its notes are planned at the recording's own beats, and silent when it is the student's turn."""
    script = """() => {
        const piece = Phrasewright.player.desk.pieceOf("recording-120");
        const settings = { ...offline.settingsOf({ bpm: 120, to: 5 }), count: false, demo: false };
        const { items } = Phrasewright.plan.planPass(piece, settings);
        return items.filter((item) => item.role === "lead").map((item) => [item.event.q, item.u / 2, item.silent]);
    }"""
    rows = desk.page.evaluate(script)
    on_beats = [(q, at) for q, at, silent in rows if silent and q == int(q)]
    assert len(on_beats) > 4
    for q, at in on_beats:
        assert at == pytest.approx(BEATS_S[int(q)] - BEATS_S[0], abs=0.001)


def test_a_pickup_is_bar_0_to_loop_and_to_light(desk_with_a_pickup: Sheet) -> None:
    """Bars 0 to 1 are looped when so is written, from the first bar of the recording; bar 0 is lit while it sounds."""
    page = desk_with_a_pickup.page
    page.evaluate("Phrasewright.player.desk.choose('recording-120')")
    page.evaluate("Phrasewright.player.desk.setLoop(2, 3, true)")
    write = """([name, value]) => {
        const field = document.querySelector(`[data-set=${name}]`);
        field.value = value;
        field.dispatchEvent(new Event("change"));
    }"""
    for name, value in (("to", "1"), ("from", "0")):
        page.evaluate(write, [name, value])
    assert page.evaluate("(({ from, to, on }) => [from, to, on])(Phrasewright.player.desk.loop)") == [0, 1, True]
    script = """at => {
        const { transport, light } = Phrasewright;
        const player = new transport.Transport({ start: () => undefined });
        player.start(offline.pieceOf("recording-120"), offline.settingsOf({ bpm: 120, to: 3 }), 0, 0);
        player.fill(9, 0);
        const { bar, chartBar } = light.marksOf(player.moment(at));
        return [bar, chartBar];
    }"""
    for at_s, bar in ((0.5, 0), (float(BEATS_S[4] - BEATS_S[0]) + 0.1, 1)):
        assert page.evaluate(script, at_s) == [bar, bar]
