"""Versions to practise with: what plays when, and what comes out of the loudspeakers."""

from __future__ import annotations

from fractions import Fraction
from hashlib import sha256
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from phrasewright.app.page import Pieces, downloads
from phrasewright.app.pieces import exercise_pieces, study_pieces, track_piece, whole_track
from phrasewright.app.planning import plan_source
from phrasewright.app.practice import (
    call_and_response,
    clicks_only,
    drums_out,
    round_the_fourths,
    versions,
    write_version,
)
from phrasewright.app.source import LessonSource
from phrasewright.band.form import Ending
from phrasewright.lesson.plan import LessonPlan
from phrasewright.score.model import Drum, PartRole
from phrasewright.sound.events import SAMPLE_RATE
from phrasewright.sound.limiter import true_peak_dbtp
from phrasewright.sound.loudness import loudness_lufs
from phrasewright.sound.mix import TARGET_LUFS
from phrasewright.sound.sounds import MODELS

NAMES = {"ogg": "Ogg Vorbis"}  # the others are called as their files end
LESSON = """
[lesson]
title = "Air"
[scale]
root = "A"
[position]
style = "open"
lowest_string = 5
[motifs]
sizes = [3]
shelf = 3
[band]
tempos = [150]
choruses = 3
chart = "| Am7 | D7 | Am7 | E7 |"
[study]
bars = 4
[practice]
call_and_response = 2
drums_out = [1, 4]
lead_aside = true
rising = 20
fourths = true
click = true
"""


@pytest.fixture(scope="module")
def plan() -> LessonPlan:
    content = LESSON.encode()
    return plan_source(LessonSource(path=Path("air.toml"), content=content, sha256=sha256(content).hexdigest()))


@pytest.fixture(scope="module")
def sounds(plan: LessonPlan) -> dict[str, np.ndarray]:
    return {version.name: version.sound(MODELS) for version in versions(plan)}


def test_every_version_asked_for_is_made_at_standard_loudness(sounds: dict[str, np.ndarray]) -> None:
    """Six of them, in stereo, at -18 LUFS within half a unit and under -1 dBTP."""
    assert list(sounds) == ["call-and-response", "drums-out", "lead-aside", "rising", "fourths", "click"]
    for name, sound in sounds.items():
        assert sound.shape[1] == 2
        assert true_peak_dbtp(sound, SAMPLE_RATE) <= -1.0, name
        assert loudness_lufs(sound, SAMPLE_RATE) == pytest.approx(TARGET_LUFS, abs=0.1), name


@pytest.mark.parametrize(
    ("files", "kind"),
    [("", "mp3"), ('files = ["wav", "ogg"]', "ogg"), ('files = ["wav", "flac"]', "flac"), ('files = ["wav"]', "wav")],
)
def test_files_are_of_a_kind_that_is_asked_for(files: str, kind: str, tmp_path: Path) -> None:
    """The easiest of ``[band] files``: the file on disk is of it, and the page links to it by name and words."""
    content = LESSON.replace("[study]", f"{files}\n[study]").encode()
    source = LessonSource(path=tmp_path / "air.toml", content=content, sha256=sha256(content).hexdigest())
    lesson = plan_source(source)
    planned = versions(lesson)
    assert [version.path for version in planned] == [f"audio/practice/{version.name}.{kind}" for version in planned]
    write_version(planned[-1], tmp_path / "pack", MODELS)
    assert soundfile.info(tmp_path / "pack" / planned[-1].path).format == kind.upper()
    pieces = Pieces(
        exercises=exercise_pieces(lesson), studies=study_pieces(lesson), track=track_piece(lesson, Ending.LOOP)
    )
    rows = [row for row in downloads(lesson, pieces) if row.group == "For practice"]
    assert [row.href for row in rows] == [version.path for version in planned]
    assert {row.detail for row in rows} == {f"{NAMES.get(kind, kind.upper())} at 150"}


def test_the_lead_answers_in_turns(plan: LessonPlan) -> None:
    """It plays bars 1-2, 5-6, 9-10 and is silent in the others; the band plays on."""
    whole = whole_track(plan, Ending.FINAL).score
    turned = call_and_response(whole, 2)
    lead = turned.part(PartRole.LEAD).notes
    assert lead
    assert all(int(note.onset // 4) % 4 in (0, 1) and (note.end - 1) // 4 % 4 <= 1 for note in lead)
    assert [part.role for part in turned.parts] == [part.role for part in whole.parts]
    assert turned.drums == whole.drums
    assert len({int(note.onset // 16) for note in whole.part(PartRole.LEAD).notes}) == 3  # the study in every chorus


def test_the_drums_stay_out_in_the_last_bar_of_four(plan: LessonPlan) -> None:
    """And nowhere else."""
    score = track_piece(plan, Ending.FINAL).score
    thinner = drums_out(score, 1, 4)
    assert score.drums is not None
    assert thinner.drums is not None
    assert thinner.drums.hits == tuple(hit for hit in score.drums.hits if hit.onset // 4 % 4 != 3)


def test_clicks_alone(plan: LessonPlan) -> None:
    """Four a bar, nothing else."""
    score = clicks_only(track_piece(plan, Ending.FINAL).score)
    assert score.parts == ()
    assert score.drums is not None
    assert [hit.onset for hit in score.drums.hits] == [Fraction(beat) for beat in range(48)]
    assert {hit.drum for hit in score.drums.hits} == {Drum.CLICK}


def test_round_the_fourths(plan: LessonPlan) -> None:
    """Twelve keys, each root a fourth above the one before, spelled with few accidentals."""
    score = round_the_fourths(plan)
    roots = [measure.chords[0].chord.root for measure in score.measures[::4]]
    assert len(roots) == 12
    assert all((b.pitch_class - a.pitch_class) % 12 == 5 for a, b in pairwise(roots))
    assert max(abs(root.fifths) for root in roots) <= 9


def test_the_lead_sits_left_and_the_band_right(plan: LessonPlan, sounds: dict[str, np.ndarray]) -> None:
    """While the lead is silent the left side carries only the room."""
    sound = sounds["lead-aside"]
    bar = 4 * 60 / 150
    late = sound[round(6 * bar * SAMPLE_RATE) : round(12 * bar * SAMPLE_RATE)]  # second chorus and on: no lead
    left, right = (float(np.sqrt(np.mean(late[:, side] ** 2))) for side in (0, 1))
    assert left < 0.35 * right


def test_rising_gets_faster(plan: LessonPlan, sounds: dict[str, np.ndarray]) -> None:
    """Three choruses at 150, 170 and 190, a bar counted in and a second and a half of tail."""
    seconds = sum(16 * 60 / tempo for tempo in (150, 170, 190)) + 4 * 60 / 150 + 1.5
    assert len(sounds["rising"]) / SAMPLE_RATE == pytest.approx(seconds, abs=0.01)
