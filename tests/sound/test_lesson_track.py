"""A lesson's track measured as a listener would: loudness, peaks, balance, every note's pitch and onset, the loop.

Loudness and true peak: ITU-R BS.1770-4. A listener's just noticeable displacement is 6 ms or 2.5 % (Friberg and
Sundberg 1995), so a millisecond is far inside it; 2 cents is under what is heard in single tones (common practice).
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
import soxr
from scipy.signal import butter, sosfilt
from sound_measures import cents_off

from phrasewright.app.audio import play
from phrasewright.app.pieces import track_piece
from phrasewright.band.form import Ending
from phrasewright.lesson.plan import plan
from phrasewright.lesson.read import read_lesson
from phrasewright.score.model import PartRole
from phrasewright.score.performance import Performance
from phrasewright.sound.events import SAMPLE_RATE
from phrasewright.sound.loop import seamless_loop
from phrasewright.sound.loudness import loudness_lufs
from phrasewright.sound.mix import mix_stems, mix_without
from phrasewright.sound.sounds import MODELS

LESSON = """\
[lesson]
title = "Four bars to listen to"
words = "Count the rests."
teacher = "Ines Varga"
school = "Harbour Lane Community Music School"
seed = 11

[scale]
root = "A"

[position]
style = "open"

[motifs]
sizes = [3]
shelf = 3

[band]
groove = "shuffle"
tempos = [120]
choruses = 2
chart = "| Am7 | D7 | Am7 | E7 |"

[exercises]
kinds = ["free-choice"]

[study]
bars = 8
"""
LONG_ENOUGH_S = 0.4  # for a pitch to 2 cents after the pick and the note before have died away
SETTLED_S = 0.14


@pytest.fixture(scope="module")
def performance(planned):
    return Performance(tempo_bpm=120.0, swing=planned.lesson.groove.swing)


@pytest.fixture(scope="module")
def planned():
    return plan(read_lesson(LESSON, "listen.toml"), file="listen.toml", text=LESSON)


@pytest.fixture(scope="module")
def piece(planned):
    return track_piece(planned, Ending.LOOP)


@pytest.fixture(scope="module")
def track(piece, performance):
    return play(piece.score, performance, seed=11, sounds=MODELS)


@pytest.fixture(scope="module")
def mix(track):
    return mix_stems(track.dry, track.sample_rate)


def test_stems_sum_to_the_mix(mix):
    """Lead, chords, bass and drums together are the unlimited mix, sample by sample."""
    assert set(mix.stems) == set(PartRole)
    assert np.abs(sum(mix.stems.values()) - mix.stems.sum(list(PartRole))).max() < 1e-6


@pytest.mark.parametrize("with_lead", [True, False])
def test_loudness_and_true_peak(mix, with_lead):
    """-18 LUFS within a tenth and at most -1 dBTP (eightfold oversampling), with and without the lead."""
    audio = mix.master if with_lead else mix_without(mix, PartRole.LEAD, SAMPLE_RATE)
    assert loudness_lufs(audio, SAMPLE_RATE) == pytest.approx(-18.0, abs=0.1)
    peak = np.abs(soxr.resample(audio, SAMPLE_RATE, 8 * SAMPLE_RATE)).max()
    assert 20 * np.log10(peak) <= -1.0


def test_the_lead_stands_in_front(performance):
    """Where the lead plays it is 2 to 4 LU louder than the band together, at the median (common practice).

    In the mean of five seeds; how much of the bar a track's rhythms fill moves its own figure, never below 1.5 LU.
    """
    fronts = [front_lu(mix_of(seed, performance)) for seed in (3, 5, 11, 12, 20)]
    assert all(len(front) >= 10 for front in fronts)
    medians = [float(np.median(front)) for front in fronts]
    assert np.mean(medians) == pytest.approx(2.8, abs=0.4)
    assert 1.5 <= min(medians) <= max(medians) <= 4.0


def mix_of(seed, performance):
    """The mix of the same lesson drawn anew."""
    text = LESSON.replace("seed = 11", f"seed = {seed}")
    piece = track_piece(plan(read_lesson(text, "listen.toml"), file="listen.toml", text=text), Ending.LOOP)
    track = play(piece.score, performance, seed=11, sounds=MODELS)
    return mix_stems(track.dry, track.sample_rate)


def front_lu(mix):
    """How much louder the lead is than the band in each 400 ms in which it plays."""
    lead = momentary_lufs(mix.stems[PartRole.LEAD])
    band = momentary_lufs(sum(stem for role, stem in mix.stems.items() if role is not PartRole.LEAD))
    playing = lead > lead.max() - 8.0
    return lead[playing] - band[playing]


def momentary_lufs(stereo):
    """Loudness of each 400 ms in turn."""
    block = round(0.4 * SAMPLE_RATE)
    return np.array(
        [loudness_lufs(stereo[at : at + block], SAMPLE_RATE) for at in range(0, len(stereo) - block, block)]
    )


def test_every_lead_note_is_in_tune(piece, track, performance):
    """On the dry lead stem each note held long enough lies within 2 cents of its written pitch."""
    stem, measured = track.dry[PartRole.LEAD], 0
    for note in piece.lead.notes:
        start_s = performance.seconds_at(note.onset)
        held_s = performance.seconds_at(note.end) - start_s
        if held_s >= LONG_ENOUGH_S:
            sound = stem[track.sample_at(note.onset) :]
            off = cents_off(sound, note.pitch.midi, skip_s=SETTLED_S, length_s=held_s - SETTLED_S)
            assert abs(off) < 2.0, (note, off)
            measured += 1
    assert measured >= 5


def test_every_lead_note_begins_on_time(piece, track, performance):
    """On the dry lead stem each attack stands within a millisecond of the performed time, swing and count-in included.

    The attack is the first sample whose treble is well above what rang in the milliseconds before.
    """
    treble = np.abs(sosfilt(butter(2, 1500, "high", fs=SAMPLE_RATE, output="sos"), track.dry[PartRole.LEAD]))
    count_in_s = 4 * 60 / 120
    for note in piece.lead.notes:
        at = round((count_in_s + performance.seconds_at(note.onset)) * SAMPLE_RATE)
        before = treble[at - ms(14) : at - ms(4)].max()
        window = treble[at - ms(4) : at + ms(10)]
        found = int(np.argmax(window > max(2.5 * before, 0.05 * window.max()))) - ms(4)
        assert abs(found) <= ms(1), (note, found / SAMPLE_RATE)


def ms(length):
    """Samples in so many milliseconds."""
    return round(length * SAMPLE_RATE / 1000)


def test_a_chorus_loops_without_a_click(piece, track, mix):
    """The second chorus put end to end: at the join no step and no treble that the running recording has not."""
    bars = piece.score.measures
    start, end = (track.sample_at(time) for time in (bars[4].onset, bars[7].end))
    assert end - start == 4 * 4 * SAMPLE_RATE // 2
    audio = mix.stems.sum(list(PartRole)).astype(np.float64)
    loop = seamless_loop(audio, start, end, ms(20))
    joined = np.concatenate((loop, loop))
    around, running = joined[len(loop) - ms(30) : len(loop) + ms(5)], audio[start - ms(30) : start + ms(5)]
    treble = butter(4, 9000, "high", fs=SAMPLE_RATE, output="sos")
    assert np.abs(np.diff(around, axis=0)).max() <= 1.5 * np.abs(np.diff(running, axis=0)).max()
    loud, usual = (np.abs(sosfilt(treble, part, axis=0))[ms(28) : ms(30)].max() for part in (around, running))
    assert loud <= 2.0 * usual + 1e-4
    assert Fraction(end - start, SAMPLE_RATE) == 8


def test_the_join_is_played_round(piece):
    """The last bar leads to the first: the bass comes from at most a fifth away, no chord voice jumps a fourth."""
    bass, chords = piece.score.part(PartRole.BASS).notes, piece.score.part(PartRole.CHORDS).notes
    assert abs(bass[-1].pitch.midi - bass[0].pitch.midi) <= 7
    first, last = ([n.pitch.midi for n in chords if n.onset == at] for at in (chords[0].onset, chords[-1].onset))
    assert all(abs(low - high) < 5 for low, high in zip(sorted(first), sorted(last), strict=False))
