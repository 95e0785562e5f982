"""A tune with everything a chart may say: what is drawn, written and spoken of it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from figure_checks import all_with, check_apart, check_figure
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

import sample_scores
from musicxml_reading import load_schema
from phrasewright.engrave.chart_figure import cells, chart_figure, chord_names
from phrasewright.engrave.chart_words import spoken_chart
from phrasewright.engrave.directions import directions_in
from phrasewright.engrave.mei import to_mei
from phrasewright.engrave.musicxml import to_musicxml
from phrasewright.engrave.systems import engrave_score
from phrasewright.engrave.words import spoken_exercise
from phrasewright.engrave.worker import Engraver
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Part, PartRole, Score
from phrasewright.score.performance import Performance
from phrasewright.theory.meter import Meter

FOUR, TWO = Meter(4, 4), Meter(2, 4)
AM, D7, E7 = (sample_scores.chord(*words) for words in (("A", "minor"), ("D", "dominant"), ("E", "dominant")))


def bar(*names: object, meter: Meter = FOUR, **more: object) -> ChartBar:
    own = None if meter == FOUR else meter
    return ChartBar(chords=tuple((one, meter.bar / len(names)) for one in names), meter=own, **more)  # type: ignore[arg-type, misc]


TUNE = Chart(
    meter=FOUR,
    pickup=ChartBar(chords=((E7, Fraction(1)),), meter=Meter(1, 4)),
    bars=(
        bar(AM, section="A"),
        bar(D7, AM, stops=frozenset({1})),
        bar(D7, meter=TWO, pace=Fraction(4, 5)),
        bar(AM, slows=True, pace=Fraction(4, 5), to_coda=True),
        bar(E7),
    ),
    coda=(bar(AM, section="Coda"),),
)


def score(chart: Chart = TUNE) -> Score:
    """One chorus with a note on every bar."""
    measures = chart.whole(1) if chart.coda else chart.unfold(len(chart.bars))
    words = " ".join(f"{one.onset}:1:A3:4/7" for one in measures)
    notes = sample_scores.line(words, sample_scores.GUITAR)
    lead = Part(role=PartRole.LEAD, name="Lead", notes=notes, instrument=sample_scores.GUITAR)
    return Score(title="Tune", measures=measures, parts=(lead,), fifths=0)


def test_what_is_said_over_each_bar() -> None:
    """Tempo where it changes, slowing, the tempo again after it, stops at their chord."""
    measures = TUNE.unfold(6)
    said = [[(str(one.at), one.words) for one in directions_in(measures, index)] for index in range(6)]
    assert said == [
        [],
        [("6", "stop")],
        [("8", "80 % of the tempo")],
        [("10", "rit.")],
        [("14", "a tempo")],
        [],
    ]


def test_the_chart_shows_everything() -> None:
    """Pick-up and coda on their own lines, new meters in their bars, words over them, a wedge for a stop."""
    placed = cells(TUNE)
    assert [cell.number for cell in placed] == list(range(7))
    assert [cell.heads_line for cell in placed] == [True, True, False, False, False, True, True]
    assert [str(cell.meter) for cell in placed if cell.changes] == ["2/4", "4/4"]
    assert [cell.said for cell in placed if cell.said] == ["80 % of the tempo", "rit., to the coda", "a tempo"]
    root = check_figure(chart_figure(TUNE, id_prefix="c"), "c")
    assert [g.get("data-bar") for g in all_with(root, "data-bar")] == [str(n) for n in range(7)]
    assert len([one for one in root.iter() if one.get("class") == "stop"]) == 1


@given(st.lists(st.tuples(st.sampled_from(["4/4", "2/4", "7/8", "1/4"]), st.booleans(), st.booleans()), min_size=1))
def test_no_two_names_touch_in_any_mix_of_meters(rows: list[tuple[str, bool, bool]]) -> None:
    """Chord names keep to their bars wherever meters change."""
    bars = [
        bar(AM, meter=Meter.parse(meter), slows=slows, stops=frozenset({0} if stop else ()))
        for meter, slows, stop in rows
    ]
    placed = cells(Chart(meter=FOUR, bars=tuple(bars)))
    check_apart([name.box for cell in placed for name in chord_names(cell)])
    for cell in placed:
        assert all(cell.chords_from < name.box.x0 and name.box.x1 < cell.box.x1 for name in chord_names(cell))


def test_the_chart_in_words() -> None:
    """Everything that is drawn is said."""
    assert spoken_chart(TUNE) == (
        "Five bars, four beats in a bar, counted in quarter notes. A pick-up of one beat, over E seven. "
        "A: Bar 1, over A minor. Bar 2, over D seven, from three A minor, a stop. "
        "Now two beats in a bar, counted in quarter notes; at 80 per cent of the tempo: Bar 3, over D seven. "
        "Now four beats in a bar, counted in quarter notes: Bar 4, over A minor, getting slower, "
        "which the coda follows the last time. In tempo: Bar 5, over E seven. "
        "The coda, played once at the end: Bar 6, over A minor."
    )


def test_a_line_in_words_names_what_changes() -> None:
    """Who plays from words hears of a new meter and tempo where they begin."""
    words = spoken_exercise(score(replace(TUNE, pickup=None, coda=())))
    assert (
        "Now two beats in a bar, counted in quarter notes; at 80 per cent of the tempo: Bar 3, over D seven:" in words
    )
    assert "Bar 4, over A minor, getting slower:" in words
    assert "In tempo: Bar 5" in words


def test_exchange_files_say_it(data_dir: Path) -> None:
    """MusicXML is valid, its pick-up is not counted, tempos stand where they change; MEI names every direction."""
    root = etree.fromstring(to_musicxml(score(), Performance(tempo_bpm=100.0)).encode())
    load_schema(data_dir).assertValid(root)
    assert [one.get("implicit") for one in root.iter("measure")] == ["yes", *[None] * 5]
    assert [one.get("tempo") for one in root.iter("sound")] == ["100", "80", "100"]
    assert [one.text for one in root.iter("words")] == ["stop", "80 % of the tempo", "rit.", "a tempo"]
    mei = etree.fromstring(to_mei(score()).encode())
    assert [one.text for one in mei.iter("{*}dir") if one.get("type") == "direction"] == [
        "stop", "80 % of the tempo", "rit.", "a tempo",
    ]  # fmt: skip


@pytest.mark.parametrize(("width_mm", "bars"), [(180.0, 4), (100.0, 2)])
def test_directions_stand_clear_of_chords(width_mm: float, bars: int) -> None:
    """On a line of their own over the chord names."""
    with Engraver() as engraver:
        drawn = engrave_score(score(), id_prefix="t-", width_mm=width_mm, bars_per_system=bars, engraver=engraver)
    marks = [one for system in drawn.systems for one in etree.fromstring(system.svg).iter()]
    assert len([one for one in marks if one.get("class") == "direction"]) == 4
