"""Filtering by blocks is filtering, whatever the lengths."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phrasewright.sound.convolve import Grid, response_spectrum, sounds, spectra

RATE = 1000  # a small grid: blocks of 1.9 s


@given(length=st.integers(1, 12_000), taps=st.integers(1, 1000), channels=st.integers(1, 3), seed=st.integers(0, 99))
@settings(max_examples=30)
def test_blocks_join_to_the_whole_convolution(length, taps, channels, seed):
    """As numpy's direct sum in double precision, to the precision of single transforms."""
    rng = np.random.default_rng(seed)
    audio = rng.standard_normal((channels, length)).astype(np.float32)
    response = rng.standard_normal((taps, 2)) / np.sqrt(taps)
    grid = Grid.at_rate(RATE)
    filters = response_spectrum(response, grid)
    found = np.zeros((channels, 2, length))
    for starts in grid.starts(length):
        filtered = sounds(spectra(list(audio), starts, grid)[:, :, None] * filters, grid)
        for start, block in zip(starts, filtered, strict=True):
            found[:, :, start : start + grid.step] = block[:, :, : length - start]
    for channel, both in zip(audio, found, strict=True):
        for side in range(2):
            wanted = np.convolve(channel.astype(np.float64), response[:, side])[:length]
            assert np.abs(both[side] - wanted).max() < 2e-5


def test_a_response_longer_than_the_history_is_refused():
    """It would wrap round into the block."""
    grid = Grid.at_rate(RATE)
    with pytest.raises(ValueError, match="1000 samples"):
        response_spectrum(np.zeros((grid.history + 1, 2), np.float32), grid)
