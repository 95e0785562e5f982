"""The demonstration take: slips of known size, rendered over the band, come back from sound; and its report."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from phrasewright.app.assignment import AssignmentError, assignment_of
from phrasewright.app.demo_take import DemoTake, listen_to_demo
from phrasewright.app.known_track import KnownTrack, take_out
from phrasewright.app.listening import ListenWish, listen_to, listen_wish
from phrasewright.app.planted_take import PlantedTakeError, SlipKind, planted_take
from phrasewright.app.take_score import played_score
from phrasewright.listen.placed import OffsetSource
from phrasewright.listen.take_file import read_take
from phrasewright.score.model import PartRole

NOTE_KEYS = {
    "onset_s", "offset_s", "pitch_midi", "level_db", "confidence", "bar", "beat", "count", "deviation_ms",
    "string", "fret", "motif", "verdict", "technique", "cents_curve",
}  # fmt: skip
TOLERANCE = {
    SlipKind.RUSHED: 2.0,
    SlipKind.WRONG_NOTE: 0.0,
    SlipKind.LEFT_OUT: 0.0,
    SlipKind.FLAT_BENDS: 8.0,
    SlipKind.UNEVEN: 2.5,
}


@pytest.fixture(scope="module")
def lesson(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("lesson") / "three.toml"
    path.write_bytes(resources.files("phrasewright.lesson").joinpath("demo.toml").read_bytes())
    return path


@pytest.fixture(scope="module")
def demo(lesson: Path, tmp_path_factory: pytest.TempPathFactory) -> DemoTake:
    return listen_to_demo(lesson, tmp_path_factory.mktemp("takes"))


@pytest.fixture(scope="module")
def document(demo: DemoTake) -> dict[str, Any]:
    path = next(path for path in demo.heard.written if path.suffix == ".json")
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return found


def test_every_planted_slip_is_heard_at_its_size(demo: DemoTake) -> None:
    """A rushed passage, a wrong note, a note left out, flat bends, unevenness."""
    assert {heard.slip.kind for heard in demo.slips} == set(SlipKind)
    for heard in demo.slips:
        assert heard.found == pytest.approx(heard.slip.size, abs=TOLERANCE[heard.slip.kind]), heard.words


def test_nothing_else_is_blamed(demo: DemoTake, document: dict[str, Any]) -> None:
    """Notes that were not planted are played; what is asked for is the bends alone."""
    planted = {at for heard in demo.slips if heard.slip.kind is not SlipKind.UNEVEN for at in heard.slip.notes}
    assert demo.heard.review is not None
    assert demo.heard.review.in_bars is not None
    comparison = demo.heard.review.in_bars.comparison
    assert comparison is not None
    blamed = [at for at, one in enumerate(comparison.outcomes) if one.verdict != "played" and at not in planted]
    assert blamed == []
    assert comparison.added == ()
    assert [one["kind"] for one in document["findings"] if one["tone"] == "work"] == ["flat-bends"]


def test_the_band_is_found_and_taken_out(demo: DemoTake, document: dict[str, Any]) -> None:
    """Track and offset are those it was made with; the take is placed by them."""
    assert document["track"]["offset_s"] == pytest.approx(0.08, abs=0.003)
    assert document["clock"]["source"] == OffsetSource.TRACK
    assert document["tempo_bpm"] == pytest.approx(75.0, abs=0.1)
    assert any("The track at 75 beats a minute" in remark for remark in document["remarks"])
    assert abs(document["timing"]["bias_ms"]) < 6.0


def test_the_document_has_every_key(document: dict[str, Any]) -> None:
    """What is asked of a take's JSON, and what docs/listening-report.md lists."""
    page = (Path(__file__).parents[2] / "docs" / "listening-report.md").read_text(encoding="utf-8")
    listed = set(re.findall(r"^- `(\w+)`", page, re.MULTILINE))
    assert set(document) <= listed
    assert all(set(note) == NOTE_KEYS for note in document["notes"])
    assert listed >= NOTE_KEYS
    assert all(note["bar"] and note["beat"] >= 1.0 for note in document["notes"])
    letters = {sighting["letter"] for sighting in document["motifs"]}
    assert letters >= {"B", "C", "D", "E"}
    assert all(document["notes"][at]["motif"] for one in document["motifs"] for at in one["notes"])


def test_the_report_stands_alone(demo: DemoTake) -> None:
    """One HTML file that asks for nothing, its sound inside; one printed page."""
    files = {path.suffix: path for path in demo.heard.written}
    page = files[".html"].read_text(encoding="utf-8")
    assert not re.search(r'(?:src|href)="(?!#|data:)', page)
    assert "url(" not in page.replace("url(#", "")
    assert page.count("data-points=") >= 6
    assert "written, not played" in page
    assert 'id="sound">ZkxhQ' in page  # "fLaC", as every FLAC file begins
    with pypdfium2.PdfDocument(files[".pdf"]) as pdf:
        assert len(pdf) == 1
        words = pdf[0].get_textpage().get_text_range()
    assert "bends" in words
    assert demo.heard.source.stem in words


def test_a_take_without_its_track_is_placed_by_the_line(lesson: Path, demo: DemoTake, tmp_path: Path) -> None:
    """Alone, at no tempo named: the lesson's tempos are tried, the right one is found."""
    import soundfile

    plan = assignment_of(lesson).plan
    planted = planted_take(plan, 60.0)
    soundfile.write(tmp_path / "slow.flac", planted.audio, 44_100)
    wish = listen_wish(lesson, exercise="study-1", alone=True)
    (heard,) = listen_to([tmp_path / "slow.flac"], tmp_path / "heard", wish)
    assert heard.review is not None
    assert heard.review.in_bars is not None
    clock = heard.review.in_bars.alignment.clock
    assert heard.review.in_bars.tempo_bpm == pytest.approx(60.0, abs=0.1)
    assert clock.source is OffsetSource.LINE
    assert clock.offset_s == pytest.approx(planted.offset_s, abs=0.004)


def test_the_same_take_gives_the_same_files(lesson: Path, demo: DemoTake, tmp_path: Path) -> None:
    """Reports are reproducible to the byte."""
    take = tmp_path / demo.heard.source.name
    shutil.copy(demo.heard.source, take)
    assignment = assignment_of(lesson, exercise="study-1", tempo_bpm=75.0)
    wish = ListenWish(played_on=assignment.plan.lesson.instrument, assignment=assignment)
    (again,) = listen_to([take], tmp_path / "again", wish)
    for path in again.written:
        assert path.read_bytes() == (demo.heard.source.parent / path.name).read_bytes(), path.name


def test_a_track_that_is_not_in_the_take_is_not_taken_out(lesson: Path, demo: DemoTake) -> None:
    """The track backwards is none of the take."""
    audio = read_take(demo.heard.source).audio
    found = take_out(audio, [KnownTrack(audio=audio[::-1].copy(), tempo_bpm=75.0)])
    assert found.track is None
    assert found.removal.audio is audio


def test_wishes_that_cannot_be_met(lesson: Path) -> None:
    """What there is, is named."""
    with pytest.raises(AssignmentError, match="no exercise '99'"):
        assignment_of(lesson, exercise="99")
    with pytest.raises(AssignmentError, match="no tempo for a take"):
        assignment_of(lesson, tempo_bpm=3.0)
    assert assignment_of(lesson, exercise="2").line == assignment_of(lesson, exercise="exercise-2").line


def test_what_was_played_is_written_down(demo: DemoTake) -> None:
    """The score of the take has the study's notes at their counts and places, slips as they were played."""
    review = demo.heard.review
    assert review is not None
    assert review.in_bars is not None
    assert review.in_bars.written is not None
    played = played_score(review, review.in_bars)
    (lead,) = played.score.parts
    (left_out,) = next(one.slip.notes for one in demo.slips if one.slip.kind is SlipKind.LEFT_OUT)
    (wrong,) = next(one.slip.notes for one in demo.slips if one.slip.kind is SlipKind.WRONG_NOTE)
    bent = next(one.slip.notes for one in demo.slips if one.slip.kind is SlipKind.FLAT_BENDS)
    study = [note for at, note in enumerate(review.in_bars.written.notes[: len(lead.notes) + 1]) if at != left_out]
    rushed = next(one.slip.notes for one in demo.slips if one.slip.kind is SlipKind.RUSHED)
    steady = [(note, one) for at, (note, one) in enumerate(zip(study, lead.notes, strict=True)) if at not in rushed]
    assert all(note.onset == one.onset for note, one in steady)
    differing = [at for at, (note, one) in enumerate(zip(study, lead.notes, strict=True)) if note.pitch != one.pitch]
    assert differing == [wrong]
    assert [at for at, one in enumerate(lead.notes) if one.touch.bend is not None] == list(bent)
    assert list(played.numbers) == list(range(len(lead.notes)))


def test_a_study_without_room_for_slips_is_told(lesson: Path) -> None:
    """One phrase only: no demonstration take, and a word why."""
    plan = assignment_of(lesson).plan
    (study, *_) = plan.studies
    lead = study.score.part(PartRole.LEAD)
    short = replace(study.score, parts=(replace(lead, notes=lead.notes[:3]),))
    with pytest.raises(PlantedTakeError, match="too few phrases"):
        planted_take(replace(plan, studies=(replace(study, score=short),)), 75.0)
