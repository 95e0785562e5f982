"""A known track in a take is found and taken out; what is not there is left alone. Signals are made here."""

from __future__ import annotations

import numpy as np
import pytest
import soxr
from scipy.signal import butter, sosfilt

from phrasewright.listen.backing import remove_track

RATE = 16_000


def strokes(seed: int, seconds: float = 40.0) -> np.ndarray:
    """Decaying tones and noise at uneven times."""
    rng = np.random.default_rng(seed)
    out = np.zeros(int(seconds * RATE))
    time_s = np.arange(RATE // 2) / RATE
    for at in rng.integers(0, len(out) - len(time_s), int(4 * seconds)):
        tone = np.sin(2 * np.pi * rng.uniform(100, 900) * time_s) + 0.3 * rng.normal(size=len(time_s))
        out[at : at + len(time_s)] += 0.1 * tone * np.exp(-8 * time_s)
    return out.astype(np.float32)


@pytest.mark.parametrize(("lag_s", "drift"), [(1.2345, 150e-6), (-2.5, -100e-6)])
def test_the_track_is_found_and_taken_out(lag_s: float, drift: float) -> None:
    track, lead = strokes(1), strokes(2)
    heard = sosfilt(
        butter(1, [150, 5000], "band", fs=RATE, output="sos"), soxr.resample(track, RATE, RATE * (1 + drift))
    )
    at = round(lag_s * RATE)
    part = np.zeros(len(lead))
    source = 0.3 * heard[max(0, -at) : max(0, -at) + len(lead) - max(0, at)]
    part[max(0, at) : max(0, at) + len(source)] = source
    found = remove_track((lead + part).astype(np.float32), track, RATE)
    assert found.lag_s == pytest.approx(at / RATE, abs=0.001)
    assert found.stretch == pytest.approx(1.0 + drift, abs=5e-6)
    assert np.mean((found.audio - lead) ** 2) < np.mean(part**2) / 10**1.2


def test_what_is_not_there_is_left_alone() -> None:
    take = strokes(2)
    for other in (strokes(3), np.zeros(RATE * 5, dtype=np.float32)):
        found = remove_track(take, other, RATE)
        assert found.audio is take
        assert found.confidence == 0.0
