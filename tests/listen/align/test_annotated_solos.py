"""Timing of real solos: from labels as computed directly, from sound as from labels (data/guitarset, CC BY 4.0).

Bounds: 3 ms of bias, 10 per cent of spread, 0.2 per cent of drift, 5 per cent of swing.
"""

from __future__ import annotations

from pathlib import Path

import annotated
import numpy as np
import pytest
import soundfile
from annotated import Solo
from directly import timing_of

from phrasewright.listen.align.align import OffsetPrior, align
from phrasewright.listen.align.even import LEAST_SHIFT, MOST_SHIFT
from phrasewright.listen.align.summary import timing_summary
from phrasewright.listen.hear.hear import hear
from phrasewright.listen.heard import HeardNote
from phrasewright.listen.placed import Alignment, TimingSummary
from phrasewright.listen.take_file import read_take

BIAS_S, SPREAD, DRIFT_PERCENT, SWING = 0.003, 0.10, 0.2, 0.05
RECORDED = ("00_BN1-129-Eb_solo", "05_Rock1-130-A_solo")


def on_its_beats(solo: Solo, notes: tuple[HeardNote, ...]) -> Alignment:
    return align(notes, solo.measures, solo.performance, given_offset_s=solo.first_beat_s)


@pytest.mark.parametrize("player", ["00", "01", "02", "03", "04", "05"])
def test_statistics_are_those_computed_directly(data_dir: Path, player: str) -> None:
    """Bias, spread, drift and swing of every solo equal a direct computation from its note times and counts."""
    for name in annotated.names(data_dir):
        if not name.startswith(player):
            continue
        solo = annotated.solo(data_dir, name)
        alignment = on_its_beats(solo, solo.notes)
        told = timing_summary(alignment)
        wanted = timing_of(
            np.array([placed.note.onset_s for placed in alignment.notes]),
            np.array([float(placed.at) for placed in alignment.notes]),
            first_beat_s=solo.first_beat_s,
            beat_s=solo.beat_s,
        )
        assert told.bias_s == pytest.approx(wanted.bias_s, abs=BIAS_S), name
        assert told.spread_s == pytest.approx(wanted.spread_s, rel=SPREAD), name
        assert told.drift_percent == pytest.approx(wanted.drift_percent, abs=DRIFT_PERCENT), name
        if told.swing_ratio is not None:
            told_of = np.clip(wanted.swing_ratio, *((0.5 + at) / (0.5 - at) for at in (LEAST_SHIFT, MOST_SHIFT)))
            assert told.swing_ratio == pytest.approx(told_of, rel=SWING), name


@pytest.mark.parametrize("name", RECORDED)
def test_sound_tells_what_labels_tell(data_dir: Path, name: str) -> None:
    """Two takes with sound. Labels there lie some 10 ms after the sound begins: that lag is measured and taken off."""
    solo = annotated.solo(data_dir, name)
    path = data_dir / "guitarset_audio" / f"{name}_mic.wav"
    label_lag_s = _label_lag_s(path, solo)
    assert 0.005 < label_lag_s < 0.015
    labelled = timing_summary(on_its_beats(solo, solo.notes))
    heard = timing_summary(on_its_beats(solo, hear(read_take(path).audio).notes))
    assert heard.bias_s == pytest.approx(_known(labelled).bias_s - label_lag_s, abs=BIAS_S)
    assert heard.spread_s == pytest.approx(labelled.spread_s, rel=SPREAD)
    assert heard.drift_percent == pytest.approx(labelled.drift_percent, abs=DRIFT_PERCENT)
    assert heard.swing_ratio == pytest.approx(labelled.swing_ratio, rel=SWING)


def test_the_beat_is_found_or_said_to_be_unsure(data_dir: Path) -> None:
    """Without any track, every seventh solo: where the beat is told for sure, counts are those of the known beats."""
    sure, wrong = 0, []
    for name in annotated.names(data_dir)[::7]:
        solo = annotated.solo(data_dir, name)
        known = on_its_beats(solo, solo.notes)
        found = align(solo.notes, solo.measures, solo.performance, expected=OffsetPrior(expected_s=solo.first_beat_s))
        if found.remarks:
            continue
        sure += 1
        same = np.mean([one.at == other.at for one, other in zip(known.notes, found.notes, strict=True)])
        if same < 0.85:
            wrong.append(name)
    assert sure >= 3
    assert wrong == []


def _known(summary: TimingSummary) -> TimingSummary:
    assert summary.bias_s is not None
    return summary


def _label_lag_s(path: Path, solo: Solo) -> float:
    """Median time from the rise of energy (differenced, 1 ms) to the label, at labels with a clear rise."""
    audio, rate = soundfile.read(path)
    power = np.convolve(np.diff(audio, prepend=0.0) ** 2, np.ones(rate // 1000), "same") ** 0.5
    found = []
    for note in solo.notes:
        first = int((note.onset_s - 0.06) * rate)
        around = power[max(first, 0) : first + int(0.12 * rate)]
        before, peak = float(np.median(around[: rate // 50])), float(around.max())
        if first >= 0 and peak >= 6.0 * before:
            rise = int(np.argmax(around > before + 0.2 * (peak - before)))
            found.append(note.onset_s - (first + rise) / rate)
    return float(np.median(found))
