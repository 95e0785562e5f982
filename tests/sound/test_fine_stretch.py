"""The finer engine of pylibrb, which tests install and the program does not; and what is said without it."""

from __future__ import annotations

import sys

import numpy as np
import pytest
from test_stretch import RATE, onset_and_rise_s, strokes

from phrasewright.sound.fine_stretch import StretchError, fine_library, finely_stretched


@pytest.mark.parametrize("speed", [0.5, 0.6, 0.8, 1.25, 1.5, 2.0])
@pytest.mark.parametrize("is_stereo", [True, False])
def test_onsets_lie_within_8_ms(speed: float, is_stereo: bool) -> None:
    times_s = 0.5 + 0.5 * np.arange(18)
    audio = strokes(times_s, 10.0)
    found = finely_stretched(np.stack([audio, audio], axis=1) if is_stereo else audio, RATE, speed)
    assert found.shape == ((round(10.0 * RATE / speed), 2) if is_stereo else (round(10.0 * RATE / speed),))
    one = found[:, 0] if is_stereo else found
    for time_s in times_s:
        assert onset_and_rise_s(one, time_s / speed)[0] == pytest.approx(time_s / speed, abs=0.008)


def test_its_own_speed_is_left_alone() -> None:
    audio = strokes(np.array([0.5]), 1.0)
    assert finely_stretched(audio, RATE, 1.0) is audio


def test_without_the_library_it_is_told_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pylibrb", None)
    with pytest.raises(StretchError, match="pip install pylibrb"):
        fine_library()
    with pytest.raises(StretchError, match="is not installed"):
        finely_stretched(np.zeros(RATE, dtype=np.float32), RATE, 0.8)


def test_speeds_that_are_no_music_are_refused() -> None:
    with pytest.raises(ValueError, match="a speed lies in"):
        finely_stretched(np.zeros(RATE, dtype=np.float32), RATE, 0.4)
