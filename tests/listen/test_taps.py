"""Taps files, and the beat that taps tell."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.errors import NoteFileError
from phrasewright.listen.taps import TapsError, read_taps, tapped_beat

millis = st.lists(st.integers(0, 900_000), min_size=1, max_size=60, unique=True).map(sorted)


@given(millis, st.sampled_from([", ", "\n", ";", "  # here\n", " "]))
def test_what_is_written_is_read(times: list[int], between: str) -> None:
    """Any separators, any remarks: the same times."""
    text = "# tapped by hand\n" + between.join(f"{time / 1000:.3f}" for time in times)
    assert read_taps(text, "t.txt") == tuple(time / 1000 for time in times)


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("1.0\n2,0x\n", "t.txt:2", "'0x' is no time"),
        ("1.0\n\n# two\n0.5\n", "t.txt:4", "does not come after the one before it, at 1 s"),
        ("1.0 1.0\n", "t.txt:1", "does not come after"),
        ("nan\n", "t.txt:1", "'nan' is no time"),
        ("1:02.5\n", "t.txt:1", "'1:02.5' is no time"),
    ],
)
def test_mistakes_are_shown_with_their_line(text: str, place: str, words: str) -> None:
    with pytest.raises(NoteFileError, match=words) as caught:
        read_taps(text, "t.txt")
    assert str(caught.value).startswith(f"{place}: ")


@pytest.mark.parametrize(
    ("taps_s", "words"),
    [
        ((), "There are no taps"),
        ((1.0,), "There is one tap"),
        ((1.0, 1.5, 2.0), "There are only 3 taps"),
        ((1.0, 1.5, 2.0, 99.0), "The tap at 99 s lies outside"),
        ((-1.0, 0.0, 1.0, 2.0), "The tap at -1 s lies outside"),
        ((1.0, 1.1, 1.2, 1.3), "600 beats a minute"),
        ((1.0, 6.0, 11.0, 16.0), "12 beats a minute"),
        ((1.0, 1.9, 2.1, 3.4, 3.6, 4.9), "too uneven"),
    ],
)
def test_taps_without_a_beat(taps_s: tuple[float, ...], words: str) -> None:
    with pytest.raises(TapsError, match=words) as caught:
        tapped_beat(taps_s, 60.0)
    assert caught.value.hint


def test_a_tap_left_out_is_counted() -> None:
    found = tapped_beat((1.0, 1.5, 2.0, 3.0, 3.5), 60.0)
    assert found.indices == (0, 1, 2, 4, 5)
    assert found.tempo_bpm == pytest.approx(120.0)
    assert found.scatter == pytest.approx(0.0, abs=1e-9)


@given(st.integers(0, 1000), st.floats(60, 160))
def test_jitter_is_measured(seed: int, tempo_bpm: float) -> None:
    """Sixteen taps with 30 ms of jitter: tempo within 5 %, jitter within a factor of two."""
    taps = 2.0 + np.arange(16) * 60 / tempo_bpm + np.random.default_rng(seed).normal(0, 0.03, 16)
    found = tapped_beat(tuple(np.sort(taps)), 60.0)
    assert found.tempo_bpm == pytest.approx(tempo_bpm, rel=0.05)
    assert 0.012 < found.scatter * found.period_s < 0.06
