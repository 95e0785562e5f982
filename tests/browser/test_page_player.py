"""The page in a browser: it plays from disk and from a server, by mouse, keyboard and touch size, and remembers."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from browser_sheet import Sheet

pytestmark = pytest.mark.browser

STATE = "Phrasewright.player.desk.state"
OpenSheet = Callable[..., Sheet]


def value(sheet: Sheet, name: str) -> str:
    return sheet.page.input_value(f'[data-set="{name}"]')


def loop(sheet: Sheet) -> dict[str, object]:
    found: dict[str, object] = sheet.page.evaluate("Phrasewright.player.desk.loop")
    return found


def choose(sheet: Sheet, piece: str) -> None:
    sheet.page.select_option('[data-set="piece"]', piece)
    sheet.page.evaluate("document.activeElement.blur()")


@pytest.mark.parametrize("place", ["disk", "server"])
def test_it_plays_from_disk_and_from_a_server(open_sheet: OpenSheet, served: str, place: str) -> None:
    """Opened either way it sounds, lights what sounds, asks for nothing outside and reports no trouble."""
    sheet = open_sheet(None if place == "disk" else served)
    sheet.page.select_option('[data-set="countIn"]', "off")
    sheet.play("ex-1")
    sheet.page.wait_for_selector("#work-ex-1 .systems.is-wide .is-now")
    assert sheet.page.evaluate("Phrasewright.player.desk.context.state") == "running"
    lit = sheet.page.eval_on_selector_all(".is-now", "all => all.map(one => one.id || one.dataset.place || '')")
    assert any(name.startswith("ex-1-n") for name in lit)
    assert any(name.startswith("ex-1-t") for name in lit)
    assert any("-" in name and name[0].isdigit() for name in lit), "a place on the neck is lit too"
    sheet.page.click('[data-do="play"]')
    assert sheet.page.evaluate(STATE) == "stopped"
    assert sheet.page.locator(".is-now").count() == 0
    assert sheet.trouble == []


def test_sound_is_fetched_on_first_play_only(sheet: Sheet) -> None:
    """Opening the page loads no sound; playing loads the parts of the piece and shows how far it is."""
    loaded = "document.querySelectorAll('script[src*=sound-]').length"
    assert sheet.page.evaluate(loaded) == 0
    sheet.page.evaluate(
        "window.seen = []; const view = Phrasewright.player.controls; const old = view.loading.bind(view);"
        "view.loading = (done, of) => { seen.push([done, of]); old(done, of); }; 0"
    )
    sheet.play("ex-1")
    assert sheet.page.evaluate("seen") == [[0, 3], [1, 3], [2, 3], [3, 3]]  # lead, drums for the clicks, room
    assert sheet.page.evaluate(loaded) == 3


def test_missing_sound_is_told(open_sheet: OpenSheet) -> None:
    """A pack without its sound says so and stays usable."""
    sheet = open_sheet(lost="**/sound-lead.js")
    sheet.page.click('[data-play="ex-1"]')
    sheet.page.wait_for_selector('[data-show="failed"]:not([hidden])')
    assert "sound-lead.js is missing" in sheet.page.inner_text('[data-show="failed"]')
    assert sheet.page.evaluate(STATE) == "stopped"


def test_keys(sheet: Sheet) -> None:
    """Every key does what the page prints beside it."""
    page = sheet.page
    choose(sheet, "ex-2")
    bar = '[data-show="bar"]'
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert page.inner_text(bar) == "Bar 3 of 8"
    page.keyboard.press("[")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("]")
    assert loop(sheet) == {"on": True, "from": 2, "to": 3}
    page.keyboard.press("l")
    assert not loop(sheet)["on"]
    page.keyboard.press("0")
    assert page.inner_text(bar) == "Bar 1 of 8"
    page.keyboard.press("+")
    page.keyboard.press("-")
    page.keyboard.press("-")
    assert value(sheet, "bpm") == "118"
    page.keyboard.press("c")
    assert value(sheet, "countIn") == "each"
    page.keyboard.press("m")
    assert page.is_checked('[data-set="click"]')
    page.keyboard.press("y")
    assert value(sheet, "lead") == "yours"
    page.keyboard.press("n")
    assert not page.is_checked('[data-set="neck"]')
    page.keyboard.press(",")
    assert value(sheet, "piece") == "ex-1"
    page.keyboard.press(".")
    assert value(sheet, "piece") == "ex-2"
    page.keyboard.press("Space")
    page.wait_for_function(f"{STATE} === 'playing'")
    page.keyboard.press("Space")
    assert page.evaluate(STATE) == "stopped"


def test_keys_rest_while_typing_and_when_switched_off(sheet: Sheet) -> None:
    """A key typed into a field, or pressed with the keys switched off, moves nothing."""
    page = sheet.page
    page.focus('[data-set="bpm"]')
    page.keyboard.press("l")
    page.keyboard.press("Space")
    assert not loop(sheet)["on"]
    assert page.evaluate(STATE) == "stopped"
    page.click("[data-more]")
    page.uncheck('[data-set="keys"]')
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("l")
    assert not loop(sheet)["on"]


def test_tempo_in_bpm_percent_and_choices(sheet: Sheet) -> None:
    """Tempo is set in beats a minute, in per cent of the lesson's, or by the lesson's own tempos."""
    page = sheet.page
    page.fill('[data-set="percent"]', "75")
    page.press('[data-set="percent"]', "Enter")
    assert value(sheet, "bpm") == "90"
    page.click('[data-bpm="150"]')
    assert (value(sheet, "bpm"), value(sheet, "percent")) == ("150", "125")
    assert page.get_attribute('[data-bpm="150"]', "aria-pressed") == "true"
    page.fill('[data-set="bpm"]', "7")
    page.press('[data-set="bpm"]', "Enter")
    assert value(sheet, "bpm") == "20", "out of range is held at the edge"


def test_tempo_in_a_compound_meter(sheet: Sheet) -> None:
    """In 12/8 tempos are shown and set in dotted quarters: 120 quarter notes are 80 beats a minute."""
    page = sheet.page
    choose(sheet, "motif-c")
    assert value(sheet, "bpm") == "80"
    assert page.inner_text('[data-show="tempos"]').split() == ["60", "80", "100"]
    page.keyboard.press("+")
    assert page.evaluate("Phrasewright.player.desk.bpm") == pytest.approx(123)


def test_loop_handles(sheet: Sheet) -> None:
    """The repeat signs move by bars with the keyboard, stay in order, and follow a drag to the nearest bar line."""
    page = sheet.page
    choose(sheet, "ex-2")
    page.focus(".is-from")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert loop(sheet) == {"on": True, "from": 2, "to": 7}
    page.focus(".is-to")
    page.keyboard.press("Home")
    assert loop(sheet)["to"] == 2, "the end cannot pass the beginning"
    assert page.get_attribute(".is-to", "aria-valuetext") == "bar 3"
    box, handle = page.locator(".ruler-field").bounding_box(), page.locator(".is-to").bounding_box()
    assert box is not None
    assert handle is not None
    page.mouse.move(handle["x"] + handle["width"] / 2, handle["y"] + 20)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.72, box["y"] + 20, steps=4)
    page.mouse.up()
    assert loop(sheet) == {"on": True, "from": 2, "to": 5}
    assert (value(sheet, "from"), value(sheet, "to")) == ("3", "6")
    page.fill('[data-set="from"]', "8")
    page.press('[data-set="from"]', "Enter")
    assert loop(sheet) == {"on": True, "from": 7, "to": 7}


def test_a_tap_on_a_bar_moves_the_mark(sheet: Sheet) -> None:
    """Pressing a bar of the ruler goes there."""
    choose(sheet, "ex-2")
    box = sheet.page.locator(".ruler-field").bounding_box()
    assert box is not None
    sheet.page.mouse.click(box["x"] + box["width"] * 5.5 / 8, box["y"] + 24)
    assert sheet.page.inner_text('[data-show="bar"]') == "Bar 6 of 8"


def test_change_while_playing_keeps_on(sheet: Sheet) -> None:
    """Tempo, loop, click and lead can be changed while it plays; it plays on, inside the loop."""
    page = sheet.page
    page.select_option('[data-set="countIn"]', "off")
    sheet.play("ex-2")
    page.keyboard.press("+")
    page.keyboard.press("m")
    page.keyboard.press("y")
    page.fill('[data-set="from"]', "5")
    page.press('[data-set="from"]', "Enter")
    page.wait_for_function("Phrasewright.player.controls.last && Phrasewright.player.controls.last.place.bar >= 4")
    assert page.evaluate(STATE) == "playing"
    assert page.inner_text('[data-show="turn"]') == "Your turn"


def test_a_hidden_tab_is_filled_further_ahead(sheet: Sheet) -> None:
    """In the background, where timers are slow, several seconds are scheduled in advance."""
    sheet.play("ex-2")
    desk = "Phrasewright.player.desk"
    begun = f"Math.max(...{desk}.transport.voices.map(voice => voice.at)) - {desk}.context.currentTime"
    assert sheet.page.evaluate(begun) < 0.6
    sheet.page.evaluate(
        "Object.defineProperty(document, 'hidden', { get: () => true });"
        "document.dispatchEvent(new Event('visibilitychange'))"
    )
    assert sheet.page.evaluate(begun) > 3.0


def test_it_remembers(sheet: Sheet) -> None:
    """Tempo, volumes, loop and piece come back with the page, for this lesson only."""
    page = sheet.page
    choose(sheet, "ex-2")
    page.fill('[data-set="bpm"]', "96")
    page.press('[data-set="bpm"]', "Enter")
    page.fill('[data-set="from"]', "3")
    page.press('[data-set="from"]', "Enter")
    page.click("[data-more]")
    page.fill("#volume-bass", "40")
    page.reload()
    assert (value(sheet, "piece"), value(sheet, "bpm"), value(sheet, "from")) == ("ex-2", "96", "3")
    assert page.input_value("#volume-bass") == "40"
    assert page.evaluate("Object.keys(localStorage)") == ["phrasewright:three-notes"]


def test_it_forgets_when_asked(sheet: Sheet) -> None:
    """The lesson's own settings come back, the chosen piece stays."""
    page = sheet.page
    choose(sheet, "ex-2")
    for key in ("+", "m", "y", "l"):
        page.keyboard.press(key)
    page.click("[data-more]")
    page.fill("#volume-bass", "40")
    page.click('[data-do="forget"]')
    assert (value(sheet, "piece"), value(sheet, "bpm"), value(sheet, "lead")) == ("ex-2", "120", "hear")
    assert page.input_value("#volume-bass") == "70"
    assert not page.is_checked('[data-set="click"]')
    assert not loop(sheet)["on"]


@pytest.mark.parametrize("saved", ["not json", '{"percent": "fast", "loops": 3, "lead": null}', "null"])
def test_a_spoilt_memory_does_no_harm(open_sheet: OpenSheet, saved: str) -> None:
    """What cannot be read is forgotten."""
    sheet = open_sheet(init=f"try {{ localStorage.setItem('phrasewright:three-notes', {saved!r}) }} catch {{}}")
    assert value(sheet, "bpm") == "120"
    assert sheet.trouble == []


def test_without_storage_it_still_plays(open_sheet: OpenSheet) -> None:
    """A browser that refuses to remember plays all the same."""
    refuse = "Object.defineProperty(window, 'localStorage', { get() { throw new Error('refused') } })"
    sheet = open_sheet(init=refuse)
    sheet.page.keyboard.press("+")
    sheet.play("ex-1")
    assert sheet.trouble == []


def test_sound_taken_away_and_given_back(sheet: Sheet) -> None:
    """When the device takes the sound away the page stops and says so; the next play goes on."""
    sheet.play("ex-2")
    sheet.page.evaluate("Phrasewright.player.desk.context.suspend()")
    sheet.page.wait_for_function(f"{STATE} === 'stopped'")
    assert sheet.page.inner_text("#say") == "The device took the sound away. Play to go on."
    sheet.play("ex-2")
    assert sheet.page.evaluate("Phrasewright.player.desk.context.state") == "running"


def test_volumes_reach_the_mix(sheet: Sheet) -> None:
    """A part's volume and silence set its gain: a square law through the part's own level at 70."""
    page = sheet.page
    sheet.play("ex-2")
    page.click("[data-more]")
    page.fill("#volume-bass", "35")
    page.check('[data-part="chords"] input[type="checkbox"]')
    gain = "role => Phrasewright.player.desk.mixer.strips.get(role).fader.gain.value"
    page.wait_for_function(f"({gain})('chords') < 1e-3 && Math.abs(({gain})('bass') - 0.25) < 1e-2")
    assert page.evaluate(gain, "lead") == pytest.approx(1.0, abs=1e-3)


def test_the_neck_shows_what_is_chosen(sheet: Sheet) -> None:
    """One view of the neck at a time, chosen by radio buttons."""
    page = sheet.page
    assert page.locator(".neck [data-view]:visible").count() == 1
    page.check('input[name="neck"][value="neck-5"]')
    assert page.locator(".neck [data-view]:visible").get_attribute("data-chord") == "A7"


def test_play_ends_by_itself(sheet: Sheet) -> None:
    """Without a loop the piece ends at its last bar line and the page rests."""
    page = sheet.page
    page.fill('[data-set="bpm"]', "400")
    page.press('[data-set="bpm"]', "Enter")
    page.select_option('[data-set="countIn"]', "off")
    sheet.play("motif-a")
    page.wait_for_function(f"{STATE} === 'stopped'", timeout=4000)
    assert page.inner_text("#say") == "The end."


def test_pictures_are_not_blank(sheet: Sheet) -> None:
    """The page can be pictured, and is more than paper; dark differs from light."""
    light = sheet.page.screenshot()
    sheet.page.emulate_media(color_scheme="dark")
    assert len(light) > 20_000
    assert sheet.page.screenshot() != light


@pytest.mark.parametrize("width", [390, 900, 1280])
def test_bar_labels_keep_apart(open_sheet: OpenSheet, width: int) -> None:
    """On the ruler no bar's number or chord reaches into the bar behind it, however long the chord's name."""
    page = open_sheet(viewport={"width": width, "height": 900}).page
    script = """() => {
        const { controls, desk } = Phrasewright.player;
        for (const bar of desk.piece.bars) for (const chord of bar.chords) chord.name = "F♯m7♭5/C";
        controls.ruler.draw(desk.piece);
        return [...document.querySelectorAll(".ruler-bar")].map((bar) => [bar.firstChild.textContent,
            bar.firstChild.getBoundingClientRect().right, bar.getBoundingClientRect().right]);
    }"""
    labels = [row for row in page.evaluate(script) if row[0]]
    assert labels
    rights = [right for _, right, _ in labels[:-1]]
    assert all(right <= following for right, following in zip(rights, [edge for *_, edge in labels], strict=False))
