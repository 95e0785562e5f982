"""The room: decays, does not colour the low end, is linear and the same as its impulse response."""

from __future__ import annotations

import numpy as np
from sound_measures import RATE, fall_time_s

from phrasewright.score.model import PartRole
from phrasewright.sound.mix import Seat, mix_stems
from phrasewright.sound.render import Pan
from phrasewright.sound.room import impulse_response


def test_the_room_dies_away():
    """60 dB down in 0.3..0.9 s, no growth, no DC, silence at the end."""
    response = impulse_response(RATE)
    assert 0.3 < fall_time_s(response[:, 0], 60.0) < 0.9
    assert np.abs(response.sum(axis=0)).max() < 0.05
    assert np.abs(response[-1]).max() < 1e-6


def test_the_sides_differ():
    """Left and right are decorrelated, so the room is wide."""
    response = impulse_response(RATE)
    assert abs(np.corrcoef(response[:, 0], response[:, 1])[0, 1]) < 0.35


def test_a_click_in_the_mix_gives_the_impulse_response():
    """What a browser's convolver does with the response is what the mix does: direct sound and room, as seated."""
    click = np.zeros(3 * RATE, np.float32)
    click[1000] = 1.0
    seat = Seat(loudness_lufs=-20.0, pan=0.3, send_db=-6.0)
    mix = mix_stems({PartRole.LEAD: click}, RATE, seats={PartRole.LEAD: seat})
    stem = mix.stems[PartRole.LEAD] / 10 ** (mix.gains_db[PartRole.LEAD] / 20)
    response = 10 ** (-6.0 / 20) * impulse_response(RATE)
    assert np.allclose(stem[1000], Pan(0.3).gains, atol=1e-5)
    assert np.allclose(stem[1001 : 1000 + len(response)], response[1:], atol=1e-5)
    assert np.abs(stem[:1000]).max() < 1e-5
    assert np.abs(stem[1000 + len(response) :]).max() < 1e-5


def test_first_reflection_comes_after_the_direct_sound():
    """The first 6 ms are empty: the attack stays clean."""
    assert np.abs(impulse_response(RATE)[: int(0.006 * RATE)]).max() < 1e-9
