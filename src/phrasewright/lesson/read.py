"""Read a lesson file: text in, a checked ``Lesson`` out, or every problem at once with its line and column.

Steps: ``syntax`` (is it TOML), ``shape`` (are keys and types those of the schema), then the parts (what the words
mean). A slip in one key does not hide the others, and what depends on it is not reported twice.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from fractions import Fraction
from types import MappingProxyType

from phrasewright.compose.exercise import ExerciseKind, ExerciseOrder
from phrasewright.errors import LessonError
from phrasewright.lesson.band_part import chart_of, check_length, check_swing, groove_of, meter_of, tempos_of
from phrasewright.lesson.desk import Desk
from phrasewright.lesson.instrument_part import instrument_of
from phrasewright.lesson.lead_part import lead_voice_of, touches_of
from phrasewright.lesson.model import Lesson
from phrasewright.lesson.motifs_part import counts_of, shelf_of
from phrasewright.lesson.neck_part import position_of, scale_of
from phrasewright.lesson.practice_part import practice_of
from phrasewright.lesson.recording_part import recording_of
from phrasewright.lesson.schema import MOST_STUDY_BARS, ExercisesSection, LessonFile, LessonSection
from phrasewright.lesson.shape import shape_lesson
from phrasewright.lesson.sound_part import sound_of
from phrasewright.lesson.study_part import study_of
from phrasewright.lesson.syntax import decode_lesson, parse_toml
from phrasewright.lesson.toml_text import TomlIndex, index_toml
from phrasewright.lesson.words import choice, choices, line_of_text, lines_of_text

__all__ = ["decode_lesson", "index_lesson", "read_lesson"]


def read_lesson(
    text: str,
    file: str,
    *,
    grooves: Mapping[str, str] = MappingProxyType({}),
    beside: Container[str] | None = None,
) -> Lesson:
    """The lesson a text states. file: name used in messages; grooves: texts of groove files beside it, by name;
    beside: names of the recording's files that are there, None = nobody looked.

    Raises LessonError with all problems.
    """
    text = text.removeprefix("\ufeff")
    parsed = parse_toml(text, file)
    desk = Desk(index_toml(parsed.text), list(parsed.problems), set(parsed.lost))
    lesson = _lesson(shape_lesson(parsed.data, desk), desk, grooves, beside)
    if lesson is None or desk.problems:
        raise LessonError(file, desk.in_order())
    return lesson


def index_lesson(text: str) -> TomlIndex:
    """Where everything stands in a lesson text that ``read_lesson`` accepted."""
    return index_toml(text.removeprefix("\ufeff"))


def _lesson(file: LessonFile, desk: Desk, grooves: Mapping[str, str], beside: Container[str] | None) -> Lesson | None:
    """The lesson, every part looked at; None when a part is missing."""
    texts = _texts(file.lesson, desk)
    instrument = instrument_of(file.instrument, desk)
    scale = scale_of(file.scale, desk)
    position = position_of(file.position, instrument, scale, desk)
    shelf = shelf_of(file.motifs, scale, desk)
    meter = meter_of(file.band, desk)
    counts = counts_of(file.rhythm, shelf.all_sizes, meter, desk)
    chart = chart_of(file.band, meter, scale, desk)
    groove = groove_of(file.band, meter, desk, grooves)
    tempos_bpm = tempos_of(file.band, meter, desk)
    check_length(file.band, chart, tempos_bpm, desk)
    check_swing(groove[0] if groove else None, chart, desk)
    sound = sound_of(file.band, desk)
    exercises = _exercises(file.exercises, desk)
    study = study_of(
        file.study,
        file.weights,
        scale=scale,
        chart_bars=len(chart.bars) if chart else MOST_STUDY_BARS,
        shelf=file.motifs.shelf,
        desk=desk,
    )
    lead_voice = lead_voice_of(file.lead, desk)
    touches = touches_of(file.lead, instrument, desk)
    practice = practice_of(file.practice, tempos_bpm, file.band.choruses, meter, desk)
    recording = recording_of(file.recording, chart, desk, beside)
    if instrument is None or scale is None or position is None or chart is None or groove is None:
        return None
    return Lesson(
        **texts,
        seed=file.lesson.seed,
        instrument=instrument,
        scale=scale,
        position=position,
        shelf=shelf,
        counts=counts,
        space=Fraction(str(file.rhythm.space)),
        chart=chart,
        groove=groove[0],
        groove_file=groove[1],
        tempos_bpm=tempos_bpm,
        choruses=file.band.choruses,
        exercises=exercises,
        order=_order(file.exercises, desk),
        study=study,
        touches=touches,
        lead_voice=lead_voice,
        practice=practice,
        sound=sound,
        recording=recording,
    )


def _texts(section: LessonSection, desk: Desk) -> dict[str, str]:
    texts = {key: line_of_text(("lesson", key), getattr(section, key), desk) for key in ("title", "teacher", "school")}
    if not texts["title"] and not desk.is_wrong("lesson", "title"):
        desk.wrong_value(("lesson", "title"), "the title is empty", "Write at least one word between the quotes.")
    return texts | {"words": lines_of_text(("lesson", "words"), section.words, desk)}


def _exercises(section: ExercisesSection, desk: Desk) -> tuple[ExerciseKind, ...]:
    if section.kinds is None:
        return tuple(ExerciseKind)
    wanted = choices(("exercises", "kinds"), section.kinds, ExerciseKind, "kind of exercise", desk)
    return tuple(kind for kind in ExerciseKind if kind in wanted)


def _order(section: ExercisesSection, desk: Desk) -> ExerciseOrder:
    found = choice(("exercises", "order"), section.order, ExerciseOrder, "order", desk)
    return ExerciseOrder(found) if found else ExerciseOrder.COURSE
