"""Mixes as MP3 and Ogg Vorbis: what a decoder gives back keeps loudness and ceiling.

True peak: ITU-R BS.1770-4, annex 2 (fourfold oversampling).
"""

from __future__ import annotations

import io

import numpy as np
import pytest
import soundfile
from sound_measures import RATE

from phrasewright.band.arrange import accompany
from phrasewright.band.groove import GROOVES
from phrasewright.errors import OutputError
from phrasewright.lesson.chart_text import read_chart
from phrasewright.score.model import Score
from phrasewright.score.performance import Performance
from phrasewright.sound.encode import FileKind, sound_bytes
from phrasewright.sound.limiter import CEILING_DBTP, limit, peak_over_dbtp, true_peak_dbtp
from phrasewright.sound.lossy import mix_bytes, write_mix
from phrasewright.sound.loudness import loudness_lufs
from phrasewright.sound.mix import TARGET_LUFS, mix_stems
from phrasewright.sound.track import render_track

LOSSY = [FileKind.MP3, FileKind.OGG]


def decoded(content):
    return soundfile.read(io.BytesIO(content), dtype="float32", always_2d=True)[0]


def rough(seed=1, length_s=4.0):
    """Noise bursts held under the ceiling: what coding raises most. float32 (n, 2)."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(int(length_s * RATE)) / RATE
    audio = (0.6 * rng.standard_normal((len(time_s), 2)) * np.exp(-8.0 * (time_s % 0.5))[:, None]).astype(np.float32)
    limit(audio, RATE)
    return audio


@pytest.mark.parametrize("id_", sorted(GROOVES))
def test_every_groove_coded_keeps_loudness_and_ceiling(id_):
    """At most -1 dBTP, -18 LUFS within half a unit, in both kinds."""
    groove = GROOVES[id_]
    measures = read_chart("| Em7 | A7 | Em7 | B7 |", groove.meters[0]).unfold(8)
    band = accompany(measures, groove, seed=3)
    score = Score(title=id_, measures=measures, parts=band.parts, fifths=1, drums=band.drums)
    track = render_track(score, Performance(tempo_bpm=100.0, swing=groove.swing), count_in_bars=1)
    master = mix_stems(track.dry, track.sample_rate).master
    for kind in LOSSY:
        heard = decoded(mix_bytes(kind, master, RATE))
        assert len(heard) == len(master)
        assert true_peak_dbtp(heard, RATE) <= CEILING_DBTP, kind
        assert loudness_lufs(heard, RATE) == pytest.approx(TARGET_LUFS, abs=0.5), kind


@pytest.mark.parametrize("kind", LOSSY)
def test_what_coding_raises_is_held(kind):
    """The bare coder passes the ceiling on rough noise; a mix does not; same bytes each time, its sound untouched."""
    audio = rough()
    kept = audio.copy()
    assert true_peak_dbtp(decoded(sound_bytes(kind, audio, RATE)), RATE) > CEILING_DBTP + 0.3
    content = mix_bytes(kind, audio, RATE)
    assert true_peak_dbtp(decoded(content), RATE) <= CEILING_DBTP
    assert mix_bytes(kind, audio, RATE) == content
    assert np.array_equal(audio, kept)


@pytest.mark.parametrize("kind", [FileKind.FLAC, FileKind.WAV])
def test_a_lossless_mix_is_as_it_was(kind, tmp_path):
    """The file holds the mix's own samples."""
    write_mix(tmp_path / f"band.{kind}", rough(), RATE)
    assert (tmp_path / f"band.{kind}").read_bytes() == sound_bytes(kind, rough(), RATE)


def test_a_folder_that_is_not_there(tmp_path):
    """Is named."""
    with pytest.raises(OutputError, match="could not be written"):
        write_mix(tmp_path / "missing" / "band.ogg", rough(), RATE)


def test_the_meter_that_looks_at_loud_places_alone():
    """It reads what the whole one reads, and -inf where nothing passes."""
    audio = rough()
    assert peak_over_dbtp(audio, RATE, ceiling_dbtp=-3.0) == pytest.approx(true_peak_dbtp(audio, RATE), abs=0.01)
    assert peak_over_dbtp(audio, RATE) == -np.inf
