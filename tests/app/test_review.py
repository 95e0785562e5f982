"""A take and its lesson's aim, and which tracks may be in it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from phrasewright.app.assignment import assignment_of
from phrasewright.app.known_track import lesson_tracks
from phrasewright.app.listening import listen_wish
from phrasewright.app.review import aims_of
from phrasewright.lesson.model import RecordingSpec
from phrasewright.listen.finding import Topic
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.score.model import PartRole
from phrasewright.score.performance import Performance


def test_a_lesson_is_about_what_it_asks_for(small_lesson: Path) -> None:
    """Ideas for an own line, the line for a written one, technique only where some is asked for."""
    lesson = assignment_of(small_lesson).plan.lesson
    assert Topic.MOTIFS in aims_of(lesson, is_line=False)
    assert Topic.LINE not in aims_of(lesson, is_line=False)
    assert Topic.LINE in aims_of(lesson, is_line=True)
    assert Topic.SPACE not in aims_of(lesson, is_line=True)
    assert (Topic.TECHNIQUE in aims_of(lesson, is_line=False)) == bool(lesson.touches.techniques)


def test_a_written_line_goes_round(small_lesson: Path) -> None:
    """As many rounds as the take has room for, bars numbered on, every note and chord in every round."""
    assignment = assignment_of(small_lesson, exercise="study-1")
    performance = assignment.performance(120.0)
    assert assignment.line is not None
    once_s = performance.seconds_at(assignment.line.end)
    one, three = (assignment.measures(times * once_s, performance) for times in (1, 3))
    assert len(three) == 3 * len(one)
    assert [bar.number for bar in three] == list(range(1, len(three) + 1))
    assert all(bar.end == after.onset for bar, after in pairwise(three))
    line = assignment.written(3 * once_s, performance)
    assert line is not None
    assert len(line.notes) == 3 * len(assignment.line.part(PartRole.LEAD).notes)
    assert assignment_of(small_lesson).written(once_s, performance) is None


def test_the_lessons_track_is_as_long_as_it_takes(small_lesson: Path) -> None:
    """Count-in, all bars at the tempo, and the room's last ring."""
    assignment = assignment_of(small_lesson)
    (track,) = lesson_tracks(assignment)
    music_s = assignment.performance(120.0).seconds_at(assignment.measures(0.0, Performance(tempo_bpm=120.0))[-1].end)
    length_s = len(track.audio) / RATE_HZ
    assert music_s + assignment.begins_s(120.0) <= length_s <= music_s + assignment.begins_s(120.0) + 3.0
    assert track.tempo_bpm == 120.0


def test_tracks_are_only_looked_for_where_there_may_be_one(small_lesson: Path) -> None:
    """None with headphones, none without a lesson, none over a teacher's recording, which is named as a file."""
    assert listen_wish(small_lesson, alone=True).tracks() == ()
    assert listen_wish(None).tracks() == ()
    assignment = assignment_of(small_lesson)
    recorded = replace(assignment.plan.lesson, recording=RecordingSpec(file="quay.flac"))
    assert lesson_tracks(replace(assignment, plan=replace(assignment.plan, lesson=recorded))) == ()
