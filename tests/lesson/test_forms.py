"""Ready forms in every key, against charts as they are commonly written (common practice)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.lesson.chart_text import read_chart, write_chart
from phrasewright.lesson.forms import FORMS, Form, chord_of
from phrasewright.lesson.read import read_lesson
from phrasewright.score.chart import Chart
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName

FOUR = Meter(4, 4)
METERS = st.sampled_from([Meter.parse(text) for text in ("2/4", "3/4", "4/4", "5/4", "6/8", "7/8", "12/8")])
KEYS = st.sampled_from(["C", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B"]).map(NoteName.parse)


def words(chart: Chart) -> list[str]:
    return [" ".join(str(chord) for chord, _ in bar.chords) for bar in chart.bars]


@pytest.mark.parametrize(
    ("form", "key", "bars"),
    [
        ("blues", "E", "E7|E7|E7|E7|A7|A7|E7|E7|B7|A7|E7|B7"),
        ("quick-change", "Bb", "Bb7|Eb7|Bb7|Bb7|Eb7|Eb7|Bb7|Bb7|F7|Eb7|Bb7|F7"),
        ("minor-blues", "C", "Cm7|Cm7|Cm7|Cm7|Fm7|Fm7|Cm7|Cm7|Ab7|G7|Cm7|G7"),
        ("major-cadence", "G", "Am7|D7|Gmaj7|Gmaj7"),
        ("minor-cadence", "A", "Bm7b5|E7(b9)|Am7|Am7"),
        ("jazz-blues", "F", "F7|Bb7|F7|Cm7 F7|Bb7|Bdim7|F7|Am7b5 D7(b9)|Gm7|C7|F7 D7|Gm7 C7"),
        ("descending", "A", "Am|G|F|E7"),
    ],
)
def test_forms_as_they_are_written(form: str, key: str, bars: str) -> None:
    """Spelled in their keys."""
    assert words(FORMS[form].chart(NoteName.parse(key), FOUR)) == bars.split("|")


@given(st.sampled_from(list(FORMS.values())), KEYS, METERS)
def test_every_form_fills_its_bars_in_every_key(form: Form, key: NoteName, meter: Meter) -> None:
    """In any meter the chart is whole, and what can be written as text is read back the same."""
    chart = form.chart(key, meter)
    assert len(chart.bars) == form.bars.count("|") + 1
    if meter == FOUR:
        assert read_chart(write_chart(chart), meter) == chart


@given(st.sampled_from(list(FORMS.values())), KEYS, KEYS)
def test_a_form_moved_keeps_its_chords(form: Form, one: NoteName, other: NoteName) -> None:
    """The same kinds, and roots the same way above the key."""
    here, there = form.chart(one, FOUR), form.chart(other, FOUR)
    for first, second in zip(here.bars, there.bars, strict=True):
        for (chord, length), (moved, as_long) in zip(first.chords, second.chords, strict=True):
            assert chord is not None
            assert moved is not None
            assert (chord.kind, length) == (moved.kind, as_long)
            assert (chord.root.pitch_class - one.pitch_class) % 12 == (moved.root.pitch_class - other.pitch_class) % 12


def test_what_is_no_numeral_is_refused() -> None:
    """A chord by letter is none by degree."""
    with pytest.raises(ValueError, match="no Roman numeral"):
        chord_of("Am7", NoteName("C"))


def test_a_lesson_takes_a_form_in_the_key_of_its_scale_or_another() -> None:
    """The scale's root unless a key is named."""
    text = '[lesson]\ntitle = "x"\n[scale]\nroot = "A"\n[band]\nform = "blues"\n'
    assert words(read_lesson(text, "x.toml").chart)[0] == "A7"
    assert words(read_lesson(text + 'key = "D"\n', "x.toml").chart)[:5] == ["D7", "D7", "D7", "D7", "G7"]
