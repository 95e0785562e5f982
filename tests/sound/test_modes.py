"""Decaying sinusoids against their closed form."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sound_measures import RATE

from phrasewright.sound.modes import Modes, rate_from_db_per_s, rate_from_t60, ring, ring_bent

mode_rows = st.lists(
    st.tuples(st.floats(20.0, 20_000.0), st.floats(0.0, 200.0), st.floats(-1.0, 1.0), st.floats(-3.0, 3.0)),
    min_size=1,
    max_size=6,
)


def modes_of(rows) -> Modes:
    table = np.array(rows, dtype=np.float64)
    return Modes(frequency_hz=table[:, 0], decay_per_s=table[:, 1], amplitude=table[:, 2], phase=table[:, 3])


def closed_form(rows, length):
    time_s = np.arange(length) / RATE
    return sum(a * np.exp(-d * time_s) * np.sin(2 * np.pi * f * time_s + p) for f, d, a, p in rows)


@given(rows=mode_rows, length=st.integers(0, 6000))
def test_the_block_product_is_the_closed_form(rows, length):
    """The fast sum equals the plain one to within the 16-bit noise floor for every length."""
    assert np.allclose(ring(modes_of(rows), length, RATE), closed_form(rows, length), atol=6 * 2.0**-15)


@given(rows=mode_rows)
def test_an_even_bend_is_no_bend(rows):
    """A frequency ratio of 1 throughout gives the straight sound."""
    assert np.allclose(ring_bent(modes_of(rows), np.ones(3000), RATE), closed_form(rows, 3000), atol=6 * 2.0**-15)


def test_long_notes_keep_their_phase():
    """After ten seconds the phase still agrees: single precision costs no tuning."""
    rows = [(440.0, 0.0, 1.0, 0.3)]
    assert np.abs(ring(modes_of(rows), 10 * RATE, RATE) - closed_form(rows, 10 * RATE)).max() < 1e-5


def test_modes_past_half_the_rate_are_left_out():
    """Nothing folds back from above half the sample rate."""
    assert not ring(modes_of([(23_000.0, 1.0, 1.0, 0.0)]), 1000, RATE).any()


def test_a_bend_moves_every_mode_by_its_ratio():
    """A ratio of 2 sounds the octave."""
    low, high = modes_of([(300.0, 2.0, 1.0, 0.0)]), modes_of([(600.0, 2.0, 1.0, 0.0)])
    assert np.allclose(ring_bent(low, np.full(4000, 2.0), RATE), ring(high, 4000, RATE), atol=1e-5)


def test_rates():
    """60 dB in a second is the same whichever way it is said."""
    assert rate_from_db_per_s(60.0) == pytest.approx(rate_from_t60(1.0))
    assert np.exp(-float(rate_from_t60(2.0)) * 2.0) == pytest.approx(1e-3)


def test_shapes_must_agree():
    """Arrays of different lengths are no set of modes."""
    with pytest.raises(ValueError, match="common shape"):
        Modes(frequency_hz=np.ones(2), decay_per_s=np.ones(2), amplitude=np.ones(1), phase=np.ones(2))
