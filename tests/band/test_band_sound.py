"""The band as it sounds: each new groove through render and mix, and the swing ratio found in the audio."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from band_strategies import TURN, unfolded

from phrasewright.band.arrange import accompany
from phrasewright.band.drums import TIMEKEEPERS
from phrasewright.band.groove import GROOVES
from phrasewright.score.model import PartRole, Score
from phrasewright.score.performance import Performance
from phrasewright.sound.events import SAMPLE_RATE, timed_hits
from phrasewright.sound.loudness import loudness_lufs
from phrasewright.sound.mix import TARGET_LUFS, mix_stems
from phrasewright.sound.render import render_hits
from phrasewright.sound.track import render_track

NEW = GROOVES.keys() - {"straight-eighths", "shuffle", "swing", "slow-12/8", "quiet-sixteenths"}
RISE = 2.2  # strokes measured leap 2.4-fold at least, what rings between them 2.0-fold at most
WINDOW_S = 0.0005
APART_S = 0.03  # no two strokes of one hand come closer


@pytest.mark.parametrize("id_", sorted(NEW))
def test_each_new_groove_sounds(id_: str) -> None:
    """Two bars render and mix at the standard loudness; each part there is is heard, and no other has a stem."""
    groove = GROOVES[id_]
    measures = unfolded("Em7 | A7", str(groove.meters[0]))
    band = accompany(measures, groove, seed=3)
    score = Score(title=id_, measures=measures, parts=band.parts, fifths=1, drums=band.drums)
    track = render_track(score, Performance(tempo_bpm=120.0, swing=groove.swing))
    assert track.dry.keys() == {part.role for part in band.parts} | {PartRole.DRUMS}
    mix = mix_stems(track.dry, track.sample_rate)
    for stem in mix.stems.values():
        assert np.abs(stem).max() > 0.01
    assert np.isfinite(mix.master).all()
    assert loudness_lufs(mix.master, track.sample_rate) == pytest.approx(TARGET_LUFS, abs=0.1)


def onsets_s(audio: np.ndarray) -> np.ndarray:
    """Where strokes begin: two milliseconds whose highest partials leap above those of the five before them.

    The fourth difference keeps the attack's top octave and takes away the ringing under it.
    """
    highs = np.abs(np.diff(audio.sum(axis=1), 4))
    width = round(WINDOW_S * SAMPLE_RATE)
    level = highs[: len(highs) // width * width].reshape(-1, width).max(axis=1)
    floor = 0.01 * level.max()
    found: list[int] = []
    for frame in range(len(level) - 4):
        peak = frame + int(level[frame : frame + 4].argmax())
        leaps = level[peak] > max(RISE * level[max(0, frame - 10) : frame].max(initial=0.0), floor)
        if leaps and (not found or (peak - found[-1]) * WINDOW_S > APART_S):
            found.append(peak)
    return np.array(found) * width / SAMPLE_RATE


@pytest.mark.parametrize("tempo_bpm", [80.0, 120.0, 190.0])
@pytest.mark.parametrize("id_", [groove.id for groove in GROOVES.values() if groove.swing.points])
def test_the_swing_ratio_is_heard(id_: str, tempo_bpm: float) -> None:
    """Long to short between the strokes of hat and ride, found in the audio, is the groove's within 2 per cent."""
    groove = GROOVES[id_]
    performance = Performance(tempo_bpm=tempo_bpm, swing=groove.swing)
    kit = accompany(unfolded(TURN), groove, seed=2).drums
    lane = replace(kit, hits=tuple(hit for hit in kit.hits if hit.drum in TIMEKEEPERS))
    length = round(32 * 60 / tempo_bpm * SAMPLE_RATE)
    found = onsets_s(render_hits(timed_hits(lane, performance), length=length))
    long, short = [], []
    for before, after in pairwise(found):
        start, end = before * tempo_bpm / 60, after * tempo_bpm / 60
        if abs(start - round(start)) < 0.02 and 0.45 < end - start < 0.8:
            long.append(end - start)
        if abs(end - round(end)) < 0.02 and 0.2 < end - start < 0.55:
            short.append(end - start)
    assert min(len(long), len(short)) >= 8
    ratio = float(np.mean(long) / np.mean(short))
    assert ratio == pytest.approx(groove.swing.ratio_at(tempo_bpm), rel=0.02)
