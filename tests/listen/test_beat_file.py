"""The beats file: what is written is read again, mistakes are shown with their line, pins are kept."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.errors import NoteFileError
from phrasewright.listen.bar_layout import BarLayout
from phrasewright.listen.beat_file import read_beats, read_pins, write_beats
from phrasewright.listen.beat_map import Beat, BeatMap
from phrasewright.theory.meter import METERS, Meter


def layouts() -> st.SearchStrategy[BarLayout]:
    """Bars all alike, a chorus that goes round, or bars that end."""
    meters, pickups = st.sampled_from(METERS), st.integers(0, 4)
    listed = st.lists(st.integers(1, 7), min_size=1, max_size=12).map(tuple)
    return (
        st.builds(BarLayout, meter=meters)
        | st.builds(BarLayout, meter=meters, bars=listed)
        | st.builds(BarLayout, meter=meters, bars=listed, pickup=pickups, ends=st.just(True))
    )


@st.composite
def beat_maps(draw: st.DrawFn) -> BeatMap:
    layout = draw(layouts())
    first, time = draw(st.integers(-9, 9)), draw(st.integers(0, 5000))
    if layout.end is not None:
        first = min(first, layout.end - 2)
    count = draw(st.integers(2, 40 if layout.end is None else min(layout.end - first, 40)))
    beats = []
    for number in range(count):
        bar, beat = layout.at(first + number)
        confidence, pinned = draw(st.integers(0, 100)) / 100, draw(st.booleans())
        beats.append(Beat(bar=bar, beat=beat, time_s=time / 1000, confidence=confidence, is_pinned=pinned))
        time += draw(st.integers(1, 2500))
    name = draw(st.text("abc -_#.:é", min_size=1, max_size=20)).strip() or "x"
    return BeatMap(recording=name, length_s=time / 1000, layout=layout, beats=tuple(beats))


@given(beat_maps())
def test_written_and_read_again(beat_map: BeatMap) -> None:
    assert read_beats(write_beats(beat_map), "b.txt") == beat_map


@given(beat_maps())
def test_pins_are_read_from_what_is_left(beat_map: BeatMap) -> None:
    """All lines that are not pinned may be deleted."""
    kept = [line for line in write_beats(beat_map).splitlines() if ":" in line or line.endswith("!")]
    assert read_pins("\n".join(kept), "b.txt") == tuple(beat for beat in beat_map.beats if beat.is_pinned)


HEAD = "recording: a.wav\nmeter: 4/4\nlength: 60\n"


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("1 1 0.5\n", "b.txt:1", "the line with the meter is missing"),
        ("meter: 4/4\nlength: 9\n1 1 1\n1 2 2\n", "b.txt", "the line with the recording is missing"),
        ("meter: 4/3\n", "b.txt:1", "there is no meter '4/3'"),
        ("length: long\n", "b.txt:1", "'long' is no length"),
        (HEAD + "1 1 half\n", "b.txt:4", "cannot read '1 1 half'"),
        (HEAD + "1 5 0.5\n", "b.txt:4", "there is no beat 5"),
        (HEAD + "1 1 0.5 1.5\n", "b.txt:4", "more than 1"),
        (HEAD + "1 1 0.5\n1 3 1.5\n", "b.txt:5", "bar 1, beat 3 does not follow bar 1, beat 1"),
        (HEAD + "1 1 0.5\n1 2 0.5\n", "b.txt:5", "does not come after"),
        ("meter: 4/4\nchorus: 4 x3, two\n1 1 1\n", "b.txt:2", "'two' is no number of beats"),
        ("meter: 4/4\nchorus: 4\nbars: 4\n1 1 1\n", "b.txt:3", "listed twice"),
        ("meter: 4/4\npickup: 0\n1 1 1\n", "b.txt:2", "'0' is no number of beats"),
        (HEAD + "bars: 4, 2\n3 1 0.5\n", "b.txt:5", "there is no bar 3"),
        (HEAD + "chorus: 4, 2\n2 3 0.5\n", "b.txt:5", "there is no beat 3 in a bar of 2"),
        (HEAD + "1 1 0.5\n", "b.txt", "fewer than two beats"),
    ],
)
def test_mistakes_are_shown_with_their_line(text: str, place: str, words: str) -> None:
    with pytest.raises(NoteFileError, match=words) as caught:
        read_beats(text, "b.txt")
    assert str(caught.value).startswith(f"{place}: ")


def test_bars_and_knots() -> None:
    """Bars that are not whole are no bars; knots begin at bar 1."""
    beats = tuple(
        Beat(bar=(n - 1) // 4 + 1, beat=(n - 1) % 4 + 1, time_s=1.0 + n / 2, confidence=0.5) for n in range(10)
    )
    found = BeatMap(recording="a", length_s=9.0, layout=BarLayout(meter=Meter(4, 4)), beats=beats)
    assert [(bar.number, bar.start_s, bar.end_s) for bar in found.bars] == [(1, 1.5, 3.5), (2, 3.5, 5.5)]
    assert found.knots[:2] == ((0, 1.5), (1, 2.0))
    assert found.tempo_bpm == pytest.approx(120.0)


@given(layouts(), st.integers(-60, 300))
def test_a_place_is_one_beat_of_one_bar(layout: BarLayout, place: int) -> None:
    """There and back; the next place is the next beat, or the first of the next bar."""
    bar, beat = layout.at(place)
    assert layout.place(bar, beat) == place
    assert 1 <= beat <= layout.beats_of(bar)
    assert layout.at(place + 1) == ((bar, beat + 1) if beat < layout.beats_of(bar) else (bar + 1, 1))
