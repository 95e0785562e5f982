"""What the page plays, rendered by its own code into memory and measured here."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from browser_sheet import Sheet, onsets_s
from page_builder import CHORDS_SIDES, EM, RATE_HZ, SWING, clips_of, drum_part, lead_notes, measures

from phrasewright.band.arrange import accompany
from phrasewright.band.drums import thinned
from phrasewright.band.groove import GROOVES, Groove
from phrasewright.engrave.page.pieces import piece_from_score, piece_json
from phrasewright.score.model import Score
from phrasewright.score.performance import Performance, SwingCurve, swing_weight
from phrasewright.sound.track import delays_s, performed_notes
from phrasewright.theory.meter import Meter

pytestmark = pytest.mark.browser

LEAD_ONLY = ["chords", "bass", "drums", "click"]
DRUMS_ONLY = ["lead", "chords", "bass", "click"]
START_S = 0.1
WITHIN_S = 0.001


def performed(times: list[Fraction], bpm: float, swing: SwingCurve = SWING) -> np.ndarray:
    performance = Performance(tempo_bpm=bpm, swing=swing)
    return np.array(sorted({performance.seconds_at(time) for time in times}))


@pytest.mark.parametrize(
    "points",
    [(), ((120.0, 1.8),), ((80.0, 2.2), (160.0, 1.5), (240.0, 1.1)), ((60.0, 1.0), (61.0, 3.0))],
    ids=["straight", "one point", "three points", "steep"],
)
def test_swing_agrees_with_the_score_model(desk: Sheet, points: tuple[tuple[float, float], ...]) -> None:
    """The page's seconds of a written time are the score model's, for every tempo and subdivision."""
    tempos = [20.0, 59.9, 60.0, 60.5, 61.0, 80.0, 100.0, 120.0, 159.0, 160.0, 200.0, 240.0, 300.0, 400.0]
    times = [Fraction(n, d) for d in (1, 2, 3, 4, 6, 8, 12, 16) for n in range(3 * d)]
    rows = [[bpm, float(time), float(swing_weight(time))] for bpm in tempos for time in times]
    script = """([points, rows]) => rows.map(([bpm, q, w]) => {
        const { clock } = Phrasewright;
        return clock.seconds(clock.played(q, w, clock.swingShift(points, bpm), []), bpm);
    })"""
    got = desk.page.evaluate(script, [[list(point) for point in points], rows])
    curve = SwingCurve(points)
    wanted = [Performance(tempo_bpm=bpm, swing=curve).seconds_at(time) for bpm in tempos for time in times]
    np.testing.assert_allclose(got, wanted, atol=1e-9)


@pytest.mark.parametrize("bpm", [70.0, 120.0, 133.0])
def test_lead_onsets(desk: Sheet, bpm: float) -> None:
    """Every lead note begins within 1 ms of its performed time, swing included."""
    seconds = 16 * 60 / bpm + 1
    got = onsets_s(desk.render("ticks", {"bpm": bpm, "to": 3}, seconds, at=START_S, muted=LEAD_ONLY))
    wanted = START_S + performed([one.onset for one in lead_notes(4)], bpm)
    assert got.size == wanted.size
    np.testing.assert_allclose(got, wanted, atol=WITHIN_S)


def test_drum_onsets(desk: Sheet) -> None:
    """Drum strokes keep the same time as the lead."""
    got = onsets_s(desk.render("ticks", {"bpm": 96.0, "to": 3}, 11.0, at=START_S, muted=DRUMS_ONLY))
    wanted = START_S + performed([hit.onset for hit in drum_part(4).hits], 96.0)
    assert got.size == wanted.size
    np.testing.assert_allclose(got, wanted, atol=WITHIN_S)


@pytest.mark.parametrize("groove", GROOVES.values(), ids=GROOVES)
def test_the_band_plays_as_in_the_files(desk: Sheet, groove: Groove) -> None:
    """At every tempo the page leaves out the strokes that the audio files leave out, and strums as they do."""
    bars = measures([EM] * 4, groove.meters[0])
    band = accompany(bars, groove, seed=1)
    score = Score(title="Band", measures=bars, parts=band.parts, fifths=1, drums=band.drums)
    view = piece_from_score(
        score,
        id="band",
        clips_of=clips_of,
        delays_s=delays_s,
        swing=groove.swing,
        tempo_bpm=100.0,
        chart_bars=(1, 2, 3, 4),
    )
    tempos = [30.0, 60.0, 100.0, 124.0, 126.0, 180.0, 240.0, 300.0]
    script = """([data, tempos, to]) => tempos.map((bpm) => {
        const settings = { ...offline.settingsOf({ bpm, to }), count: false, demo: true };
        const { items } = Phrasewright.plan.planPass(Phrasewright.piece.read(data), settings);
        return items.map((item) => [item.role, item.u * 60 / bpm, item.key]);
    })"""
    assert band.drums is not None
    for bpm, items in zip(tempos, desk.page.evaluate(script, [piece_json(view), tempos, 3]), strict=True):
        performance = Performance(tempo_bpm=bpm, swing=groove.swing)
        kit = thinned(band.drums, performance)
        wanted = [("drums", performance.seconds_at(hit.onset), hit.drum.value) for hit in kit.hits]
        for part in band.parts:
            notes = performed_notes(part, performance)
            wanted += [(part.role.value, note.onset_s, f"p{note.pitch_midi}") for note in notes]
        got, wanted = (
            sorted((role, key, at) for role, at, key in items),
            sorted((role, key, at) for role, at, key in wanted),
        )
        assert [one[:2] for one in got] == [one[:2] for one in wanted], bpm
        np.testing.assert_allclose([one[2] for one in got], [one[2] for one in wanted], atol=1e-5)


def test_parts_sit_where_the_mix_puts_them(desk: Sheet) -> None:
    """A mono part is as loud left and right as its gains say; the drums are stereo as recorded."""
    order = {"bpm": 120.0, "to": 1}
    chords = [desk.render("ex-2", order, 4.0, muted=["lead", "bass", "drums"], channel=side) for side in (0, 1)]
    middle = CHORDS_SIDES[0] / CHORDS_SIDES[1]
    assert np.abs(chords[0]).max() > 0.02
    np.testing.assert_allclose(chords[0], middle * chords[1], atol=1e-5)
    drums = [desk.render("ex-2", order, 4.0, muted=DRUMS_ONLY, channel=side) for side in (0, 1)]
    np.testing.assert_allclose(drums[0], drums[1], atol=1e-6)


def test_a_loop_joins_without_gap_or_click(desk: Sheet) -> None:
    """A looped span equals its single passes laid end to end, tails and reverb included, sample for sample."""
    bars, bpm, passes = (1, 2), 120.0, 3
    span_s = 4.0  # two bars of 4/4: 176,400 frames
    settings = {"bpm": bpm, "from": bars[0], "to": bars[1]}
    total_s = passes * span_s + 2.0
    single = desk.render("ex-2", settings, total_s, bar=bars[0], room=True, gain=0.5)
    looped = desk.render("ex-2", settings | {"loop": True}, passes * span_s, bar=bars[0], room=True, gain=0.5)
    wanted = np.zeros(looped.size)
    for turn in range(passes):
        shift = round(turn * span_s * RATE_HZ)
        wanted[shift:] += single[: looped.size - shift]
    assert np.max(np.abs(single)) < 0.7, "the check is exact only below the ceiling's knee"
    assert np.max(np.abs(looped)) > 0.05
    assert np.max(np.abs(looped - wanted)) < 2e-5


def test_a_note_that_ends_fades(desk: Sheet) -> None:
    """A note is let go at its end, not chopped: no sample jumps more than the tone itself does."""
    bass_only = ["lead", "chords", "drums", "click"]
    samples = desk.render("ex-2", {"bpm": 120.0, "to": 0}, 2.5, muted=bass_only)
    end = 2 * RATE_HZ
    jumps = np.abs(np.diff(samples))
    assert np.abs(samples[end - 500 : end]).max() > 0.02, "the last note still sounds at the bar line"
    assert jumps[end - 1 : end + 4000].max() <= jumps[end - 3000 : end - 1].max()
    assert np.abs(samples[end + int(0.08 * RATE_HZ) :]).max() < 1e-4


def test_a_tempo_change_keeps_the_place(desk: Sheet) -> None:
    """After a change of tempo the music goes on from where it was: nothing is missed and nothing sounds twice."""
    change_s, before, after = 2.6, 120.0, 90.0
    steps = [{"at": change_s, "change": {"bpm": after}}]
    samples = desk.render("ticks", {"bpm": before, "to": 3}, 13.0, at=START_S, muted=LEAD_ONLY, steps=steps)
    got = onsets_s(samples)
    quarters = (change_s - START_S) * before / 60
    old, new = Performance(tempo_bpm=before, swing=SWING), Performance(tempo_bpm=after, swing=SWING)
    wanted = []
    for one in lead_notes(4):
        early = START_S + old.seconds_at(one.onset)
        late = change_s + new.seconds_at(one.onset) - quarters * 60 / after
        wanted.append(early if early < change_s else late)
    assert got.size == len(wanted)
    np.testing.assert_allclose(got, wanted, atol=WITHIN_S)


def test_count_in_before_every_pass(desk: Sheet) -> None:
    """A bar of four clicks stands before each pass when asked, and the pass begins on the beat after it."""
    settings = {"bpm": 120.0, "to": 0, "loop": True, "countIn": "each"}
    got = onsets_s(desk.render("ticks", settings, 7.9, muted=["chords", "bass", "drums"]))
    clicks = [0.0, 0.5, 1.0, 1.5]
    notes = [2.0 + second for second in performed([one.onset for one in lead_notes(1)], 120.0)]
    wanted = [4.0 * turn + second for turn in (0, 1) for second in (*clicks, *notes)]
    assert got.size == len(wanted)
    np.testing.assert_allclose(got, wanted, atol=WITHIN_S)


def test_the_click_can_be_set_while_playing(desk: Sheet) -> None:
    """The metronome comes in on the next beat, never off the beat."""
    steps = [{"at": 1.05, "change": {"click": True}}]
    muted = ["lead", "chords", "bass", "drums"]
    got = onsets_s(desk.render("ticks", {"bpm": 120.0, "to": 1}, 4.4, muted=muted, steps=steps))
    np.testing.assert_allclose(got, [1.5, 2.0, 2.5, 3.0, 3.5], atol=WITHIN_S)


def test_taking_turns(desk: Sheet) -> None:
    """Taking turns, the lead sounds in every first pass and is silent in every second."""
    settings = {"bpm": 120.0, "to": 0, "loop": True, "lead": "turns"}
    got = onsets_s(desk.render("ticks", settings, 8.0, muted=LEAD_ONLY))
    bar = performed([one.onset for one in lead_notes(1)], 120.0)
    np.testing.assert_allclose(got, [*bar, *(4.0 + bar)], atol=WITHIN_S)


def test_a_seek_goes_to_the_bar_line(desk: Sheet) -> None:
    """Going to a bar begins it at once; what sounded before is let go."""
    steps = [{"at": 1.2, "seek": 2}]
    got = onsets_s(desk.render("ticks", {"bpm": 120.0, "to": 2}, 3.4, muted=LEAD_ONLY, steps=steps))
    before = performed([one.onset for one in lead_notes(1)], 120.0)
    third = 1.2 + performed([one.onset - 8 for one in lead_notes(4) if 8 <= one.onset < 12], 120.0)
    np.testing.assert_allclose(got, [*before, *third], atol=WITHIN_S)


def test_stop_falls_silent(desk: Sheet) -> None:
    """Stopping fades all held notes within 50 ms, without a step."""
    samples = desk.render("ex-1", {"bpm": 60.0, "to": 3}, 3.0, steps=[{"at": 1.7, "stop": True}])
    end = int(1.7 * RATE_HZ)
    assert np.abs(samples[end - 2000 : end]).max() > 0.02
    assert np.abs(samples[end + int(0.05 * RATE_HZ) :]).max() < 1e-4
    steps = np.abs(np.diff(samples))
    assert steps[end : end + 3000].max() <= 1.05 * steps[end - 3000 : end].max()


def test_the_ceiling_holds(desk: Sheet) -> None:
    """Loud sums bend towards full scale and never pass it; quiet ones are left exactly alone."""
    xs = np.linspace(-4, 4, 401)
    ys = np.array(desk.page.evaluate("xs => xs.map(Phrasewright.mixer.softened)", xs.tolist()))
    assert np.abs(ys).max() < 1.0
    assert np.all(np.diff(ys) >= 0)
    inside = np.abs(xs) <= 0.7
    np.testing.assert_array_equal(ys[inside], xs[inside])


@pytest.mark.parametrize("at_s", [0.05, 0.3, 1.2, 1.9, 2.3, 3.0, 4.1, 5.2, 6.6, 7.9])
def test_what_is_lit(desk: Sheet, at_s: float) -> None:
    """At any time exactly the sounding lead notes are lit, with their places, the bar and the chart's bar."""
    script = """at => {
        const { transport, light } = Phrasewright;
        const player = new transport.Transport({ start: () => undefined });
        player.start(offline.pieceOf("ex-1"), offline.settingsOf({ to: 3 }), 0, 0);
        player.fill(9, 0);
        return light.marksOf(player.moment(at));
    }"""
    performance = Performance(tempo_bpm=120.0, swing=SWING)
    sounding = [
        (index, one)
        for index, one in enumerate(lead_notes(4))
        if performance.seconds_at(one.onset) <= at_s < performance.seconds_at(one.end)
    ]
    bar = int(at_s // 2) + 1
    assert desk.page.evaluate(script, at_s) == {
        "notes": [index for index, _ in sounding],
        "places": [f"{one.place.string}-{one.place.fret}" for _, one in sounding if one.place],
        "bar": bar,
        "chartBar": bar,
    }


def test_changes_of_tempo_agree_with_the_score_model(desk: Sheet) -> None:
    """The page plays every note of bars at other paces when the score model does, and knows at each where it is."""
    paces = [("1", False), ("1/2", False), ("5/4", True), ("1", False)]
    bars = tuple(
        replace(bar, pace=Fraction(pace), slows=slows)
        for bar, (pace, slows) in zip(measures([EM] * 4, Meter(4, 4)), paces, strict=True)
    )
    groove = GROOVES["swing"]
    band = accompany(bars, groove, seed=1)
    score = Score(title="Band", measures=bars, parts=band.parts, fifths=1)
    view = piece_from_score(score, id="band", clips_of=clips_of, swing=groove.swing, tempo_bpm=100.0)
    script = """([data, bpm, to]) => {
        const piece = Phrasewright.piece.read(data);
        const settings = { ...offline.settingsOf({ bpm, to }), count: false, demo: true };
        const plan = Phrasewright.plan.planPass(piece, settings);
        return plan.items.map((item) => [item.u * 60 / bpm, Phrasewright.plan.placeAt(plan, item.u).q, item.event.q]);
    }"""
    for bpm in (60.0, 132.0):
        rows = desk.page.evaluate(script, [piece_json(view), bpm, 3])
        performance = Performance(tempo_bpm=bpm, swing=groove.swing).over(bars)
        wanted = sorted(performance.seconds_at(note.onset) for part in band.parts for note in part.notes)
        np.testing.assert_allclose(sorted(row[0] for row in rows), wanted, atol=1e-5)
        for _, place, written in rows:
            assert written <= place + 1e-4
            assert place - written < 0.3  # the place counts swung time


@pytest.mark.parametrize(("stops", "release_s"), [(False, 0.08), (True, 0.03)])
def test_a_string_that_sounds_on_lets_its_note_go_at_once(desk: Sheet, stops: bool, release_s: float) -> None:
    """The note before a hammer-on fades within 30 ms of its end, any other as its part is damped."""
    script = """(stops) => {
        const context = new OfflineAudioContext(2, 44100, 44100);
        const part = { level: 1, room: 0, sides: [1, 1], release: 0.08 };
        const buffer = context.createBuffer(1, 44100, 44100);
        const mixer = new Phrasewright.mixer.Mixer(context, { parts: new Map([["lead", part]]), clip: () => buffer });
        mixer.settle();
        const voice = mixer.start({ role: "lead", key: "x", rate: 1, gain: 1, event: { stops } }, 0.1, 0.5);
        return [voice.end, voice.releaseS];
    }"""
    assert desk.page.evaluate(script, stops) == [0.5, release_s]
