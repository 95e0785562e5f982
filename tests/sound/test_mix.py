"""Loudness, true peak, limiter, and stems that sum to the mix."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_measures import RATE

from phrasewright.band.arrange import accompany
from phrasewright.band.groove import GROOVES
from phrasewright.lesson.chart_text import read_chart
from phrasewright.score.model import Drum, PartRole, Score
from phrasewright.score.performance import Performance
from phrasewright.sound.events import TimedHit
from phrasewright.sound.limiter import CEILING_DBTP, limit, true_peak_dbtp
from phrasewright.sound.loudness import loudness_lufs
from phrasewright.sound.mix import mix_stems, mix_without
from phrasewright.sound.render import render_hits
from phrasewright.sound.track import render_track


def sine(frequency_hz, peak, length_s=4.0, rate=RATE):
    return (peak * np.sin(2 * np.pi * frequency_hz * np.arange(int(length_s * rate)) / rate)).astype(np.float32)


def bursts(seed, length_s=5.0):
    """Rough music: decaying noise bursts, float32 (n,)."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(int(length_s * RATE)) / RATE
    return (0.3 * rng.standard_normal(len(time_s)) * np.exp(-8.0 * (time_s % 0.5))).astype(np.float32)


DRY = {
    PartRole.LEAD: bursts(1),
    PartRole.BASS: sine(80.0, 0.2, 5.0),
    PartRole.DRUMS: np.stack((bursts(2), bursts(3)), axis=1),
}


def test_true_peak_lies_between_samples():
    """A sine at a quarter of the rate, sampled 45 degrees off its crests, peaks 3 dB above its samples."""
    audio = np.tile(np.array([1.0, 1.0, -1.0, -1.0], np.float32) * 0.5, 5000)
    assert true_peak_dbtp(audio[2000:-2000], RATE) == pytest.approx(20 * math.log10(0.5 * 2**0.5), abs=0.7)
    assert true_peak_dbtp(np.zeros(100, np.float32), RATE) == -math.inf


def test_a_mix_keeps_loudness_and_ceiling():
    """-18 LUFS within 0.1, true peak at most -1 dBTP."""
    mix = mix_stems(DRY, RATE)
    assert loudness_lufs(mix.master, RATE) == pytest.approx(-18.0, abs=0.1)
    assert loudness_lufs(sum(mix.stems.values()), RATE) == pytest.approx(-18.0, abs=0.01)
    assert true_peak_dbtp(mix.master, RATE) <= CEILING_DBTP


def test_stems_sum_to_the_mix():
    """The stems, room included, add up to the mix: after the limiter where it acts, sample by sample elsewhere."""
    mix = mix_stems(DRY, RATE)
    total = sum(mix.stems.values())
    assert np.abs(mix.stems.sum(list(DRY)) - total).max() < 1e-6
    near = np.convolve(np.abs(total).max(axis=1) > 10 ** (-1.5 / 20), np.ones(2001), mode="same") > 0.5
    assert near.mean() < 0.5
    assert np.abs(mix.master - total)[~near].max() < 1e-6 if mix.limited_db else True


def test_a_part_left_out_leaves_nothing_behind():
    """Each stem carries its own room: without the lead, the others sound in their balance at the standard loudness."""
    mix = mix_stems(DRY, RATE)
    others = mix.stems[PartRole.BASS] + mix.stems[PartRole.DRUMS]
    band = mix_without(mix, PartRole.LEAD, RATE)
    assert loudness_lufs(band, RATE) == pytest.approx(-18.0, abs=0.1)
    assert true_peak_dbtp(band, RATE) <= CEILING_DBTP
    gain = np.vdot(band, others) / np.vdot(others, others)
    assert np.sqrt(np.mean((band - gain * others) ** 2) / np.mean(band**2)) < 0.02
    alone = mix_stems({PartRole.LEAD: DRY[PartRole.LEAD]}, RATE)
    assert not mix_without(alone, PartRole.LEAD, RATE).any()


def test_gains_let_a_page_repeat_the_balance():
    """gains_db times the dry stem is the stem's direct sound."""
    lead = np.zeros(2 * RATE, np.float32)
    lead[100] = 0.5
    mix = mix_stems({PartRole.LEAD: lead + 0.01 * sine(300.0, 1.0, 2.0)}, RATE)
    direct = mix.stems[PartRole.LEAD][100] - mix.stems[PartRole.LEAD][101]
    dry = (lead + 0.01 * sine(300.0, 1.0, 2.0))[100:102]
    assert direct == pytest.approx((dry[0] - dry[1]) * 10 ** (mix.gains_db[PartRole.LEAD] / 20), rel=1e-3)


def test_a_silent_stem_stays_silent():
    """A part that rests is no reason to fail."""
    mix = mix_stems({PartRole.LEAD: bursts(1), PartRole.CHORDS: np.zeros(5 * RATE, np.float32)}, RATE)
    assert not mix.stems[PartRole.CHORDS].any()
    silence = mix_stems({PartRole.LEAD: np.zeros(RATE, np.float32)}, RATE)
    assert not silence.master.any()


@given(seed=st.integers(0, 1000), gain=st.floats(0.1, 20.0))
@settings(max_examples=15)
def test_the_limiter_holds_its_ceiling(seed, gain):
    """Whatever comes in, the true peak that goes out is at most -1 dBTP, and nothing is made louder."""
    audio = np.stack((bursts(seed, 1.0), bursts(seed + 1, 1.0)), axis=1) * np.float32(gain)
    limited = audio.copy()
    cut_db = limit(limited, RATE)
    assert true_peak_dbtp(limited, RATE) <= CEILING_DBTP
    assert (np.abs(limited) <= np.abs(audio) + 1e-7).all()
    assert cut_db >= 0.0


def test_the_limiter_leaves_quiet_sound_alone():
    """Under the ceiling samples pass unchanged; a lone peak is cut only around itself."""
    quiet = np.stack((bursts(1, 1.0), bursts(2, 1.0)), axis=1) * np.float32(0.2)
    same = quiet.copy()
    assert limit(same, RATE) == 0.0
    assert np.array_equal(same, quiet)
    limited = quiet.copy()
    limited[RATE // 2] = 1.5
    assert limit(limited, RATE) > 3.0
    assert np.array_equal(limited[: RATE // 2 - 500], quiet[: RATE // 2 - 500])
    assert np.array_equal(limited[RATE // 2 + 500 :], quiet[RATE // 2 + 500 :])


def test_a_mix_is_the_same_twice():
    """Same stems, same samples."""
    assert np.array_equal(mix_stems(DRY, RATE).master, mix_stems(DRY, RATE).master)


def test_stems_of_different_length_are_refused():
    """Stems start and end together."""
    with pytest.raises(ValueError, match="one length"):
        mix_stems({PartRole.LEAD: np.zeros(10, np.float32), PartRole.BASS: np.zeros(11, np.float32)}, RATE)


def test_stems_are_made_when_asked_for():
    """Asking twice gives equal stems; a role that does not play is a KeyError; the dry stems stay as they were."""
    dry = {role: stem.copy() for role, stem in DRY.items()}
    mix = mix_stems(dry, RATE)
    assert np.array_equal(mix.stems[PartRole.LEAD], mix.stems[PartRole.LEAD])
    assert list(mix.stems) == list(DRY)
    with pytest.raises(KeyError):
        mix.stems[PartRole.CHORDS]
    assert all(np.array_equal(dry[role], DRY[role]) for role in DRY)


def test_clicks_alone_are_as_loud_as_music():
    """Short sounds far apart reach -18 LUFS within 0.1 under the ceiling, the first of a bar loudest."""
    hits = [TimedHit(onset_s=beat, drum=Drum.CLICK, velocity=0.6 if beat % 4 else 1.0) for beat in range(8)]
    mix = mix_stems({PartRole.DRUMS: render_hits(hits, length=9 * RATE)}, RATE)
    assert loudness_lufs(mix.master, RATE) == pytest.approx(-18.0, abs=0.1)
    assert true_peak_dbtp(mix.master, RATE) <= CEILING_DBTP
    levels = [loudness_lufs(mix.master[beat * RATE :][: RATE // 2], RATE) for beat in range(4)]
    assert levels[0] > max(levels[1:]) + 3.0


@pytest.mark.parametrize("tempo_bpm", [66.0, 140.0])
@pytest.mark.parametrize("id_", sorted(GROOVES))
def test_every_groove_keeps_loudness_and_ceiling(id_, tempo_bpm):
    """-18 LUFS within 0.1 and at most -1 dBTP, whatever the band plays and how fast."""
    groove = GROOVES[id_]
    measures = read_chart("| Em7 | A7 | Em7 | B7 |", groove.meters[0]).unfold(4)
    band = accompany(measures, groove, seed=3)
    score = Score(title=id_, measures=measures, parts=band.parts, fifths=1, drums=band.drums)
    track = render_track(score, Performance(tempo_bpm=tempo_bpm, swing=groove.swing), count_in_bars=1)
    master = mix_stems(track.dry, track.sample_rate).master
    assert loudness_lufs(master, RATE) == pytest.approx(-18.0, abs=0.1)
    assert true_peak_dbtp(master, RATE) <= CEILING_DBTP
