"""Write a lesson as text: ``read_lesson`` gives the same lesson back.

What is usual is left out, except what a teacher will want to change next. Charts are written with their repeats
played out, counts with all they stand for.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict

from phrasewright.compose.costs import Weights
from phrasewright.compose.exercise import ExerciseKind, ExerciseOrder
from phrasewright.compose.lead_voice import LeadVoice
from phrasewright.compose.touches import HowOften
from phrasewright.lesson.chart_text import write_chart
from phrasewright.lesson.model import (
    Lesson,
    PracticeSpec,
    RecordingSpec,
    Redrawn,
    SoundSpec,
    StretchKind,
    StudySpec,
    WrittenMotif,
)
from phrasewright.lesson.schema import OTHER_INSTRUMENT, USUAL_SOUND, USUAL_WEIGHTS
from phrasewright.lesson.study_part import CHORD_TONES, bars_text
from phrasewright.lesson.words import spot_text
from phrasewright.neck.catalogue import INSTRUMENT_KINDS
from phrasewright.neck.instrument import Hand, Instrument
from phrasewright.neck.place import PositionStyle
from phrasewright.neck.request import PositionRequest
from phrasewright.theory.scale import SCALE_KINDS, Scale

Lines = Iterator[str]


def write_lesson(lesson: Lesson) -> str:
    """The lesson file of a lesson. Raises ValueError for a chart whose chords change off the beat."""
    parts = [
        ("lesson", _lesson(lesson)),
        ("instrument", _instrument(lesson.instrument)),
        ("scale", _scale(lesson.scale)),
        ("position", _position(lesson.position)),
        ("motifs", _motifs(lesson)),
        ("rhythm", _rhythm(lesson)),
        ("band", _band(lesson)),
        ("exercises", _exercises(lesson)),
        ("study", _study(lesson.study)),
        ("weights", _weights(lesson.study.weights)),
        ("lead", _lead(lesson)),
        ("practice", _practice(lesson.practice)),
        ("recording", _recording(lesson.recording)),
    ]
    blocks = []
    for name, lines in parts:
        written = "\n".join(lines)
        if written:
            blocks.append(f"[{name}]\n{written}\n")
    return "\n".join(blocks)


def toml_text(value: str) -> str:
    """A text value on one line."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def toml_lines(value: str) -> str:
    """A text value of several lines between triple quotes."""
    inside = value.replace("\\", "\\\\").replace('"""', '""\\"')
    return f'"""\n{inside}\n"""'


def toml_number(value: float) -> str:
    """A number, without a decimal point where it has none."""
    return str(int(value)) if value == int(value) else repr(float(value))


def toml_list(values: Iterable[str]) -> str:
    """A list of values already written."""
    return f"[{', '.join(values)}]"


def _lesson(lesson: Lesson) -> Lines:
    yield f"title = {toml_text(lesson.title)}"
    if lesson.words:
        yield f"words = {toml_lines(lesson.words)}"
    for key in ("teacher", "school"):
        if getattr(lesson, key):
            yield f"{key} = {toml_text(getattr(lesson, key))}"
    yield f"seed = {lesson.seed}"


def _instrument(instrument: Instrument) -> Lines:
    kind = INSTRUMENT_KINDS.get(instrument.id, INSTRUMENT_KINDS["guitar"])
    yield f"kind = {toml_text(instrument.id)}"
    tuning = _tuning(instrument)
    if tuning != kind.tunings[0].id:
        yield f"tuning = {toml_text(tuning)}"
    if instrument.capo:
        yield f"capo = {instrument.capo}"
    if instrument.frets != kind.frets:
        yield f"frets = {instrument.frets}"
    if instrument.fretting_hand is not Hand.LEFT:
        yield f"fretting_hand = {toml_text(instrument.fretting_hand)}"
    if instrument.scale_length_mm != kind.scale_length_mm:
        yield f"scale_length_mm = {toml_number(instrument.scale_length_mm)}"


def _tuning(instrument: Instrument) -> str:
    """The id of a named tuning, or its notes."""
    if instrument.id != OTHER_INSTRUMENT:
        kind = INSTRUMENT_KINDS[instrument.id]
        for number, tuning in enumerate(kind.tunings):
            name = kind.name if number == 0 else f"{kind.name}, {tuning.name}"
            if tuning.pitches == instrument.tuning and name == instrument.name:
                return tuning.id
    return " ".join(str(pitch) for pitch in reversed(instrument.tuning))


def _scale(scale: Scale) -> Lines:
    yield f"root = {toml_text(str(scale.root))}"
    if SCALE_KINDS.get(scale.kind.id) == scale.kind:
        yield f"kind = {toml_text(scale.kind.id)}"
    else:
        yield f"degrees = {toml_text(scale.kind.formula)}"


def _position(position: PositionRequest) -> Lines:
    yield f"style = {toml_text(position.style)}"
    for key in ("fret", "lowest_string", "highest_string", "string"):
        if getattr(position, key) is not None:
            yield f"{key} = {getattr(position, key)}"
    if position.style is PositionStyle.THREE_PER_STRING and position.notes_per_string != 3:
        yield f"notes_per_string = {position.notes_per_string}"
    for key in ("added_above", "added_below"):
        if getattr(position, key):
            yield f"{key} = {getattr(position, key)}"
    if position.left_out:
        yield f"left_out = {toml_list(toml_text(spot_text(*note)) for note in position.left_out)}"
    if position.max_stretch_mm is not None:
        yield f"max_stretch_mm = {toml_number(position.max_stretch_mm)}"


def _motifs(lesson: Lesson) -> Lines:
    shelf = lesson.shelf
    if shelf.sizes:
        yield f"sizes = {toml_list(map(str, shelf.sizes))}"
    yield f"shapes = {toml_list(map(toml_text, shelf.shapes))}"
    yield f"largest_step = {shelf.largest_step}"
    if shelf.cycles:
        yield f"cycles = {toml_list(map(str, shelf.cycles))}"
    yield f"shelf = {shelf.length}"
    yield f"idiom = {toml_text(shelf.idiom)}"
    if shelf.left_out:
        yield f"left_out = {toml_list(toml_text(left_out_text(motif)) for motif in shelf.left_out)}"
    for motif in shelf.written:
        yield from _written(motif)


def left_out_text(motif: WrittenMotif) -> str:
    """A motif as ``motifs.left_out`` names it."""
    return motif.text + (f" cycle {motif.cycle}" if motif.cycle != 1 else "")


def _written(motif: WrittenMotif) -> Lines:
    yield "\n[[motifs.written]]"
    yield f"degrees = {toml_text(motif.text)}"
    if motif.cycle != 1:
        yield f"cycle = {motif.cycle}"
    if motif.name:
        yield f"name = {toml_text(motif.name)}"


def _rhythm(lesson: Lesson) -> Lines:
    yield f"counts = {toml_list(toml_text(count.text) for count in lesson.all_counts)}"
    yield f"space = {toml_number(float(lesson.space))}"


def _band(lesson: Lesson) -> Lines:
    yield f"meter = {toml_text(str(lesson.meter))}"
    yield f"groove = {toml_text(lesson.groove_file or lesson.groove.id)}"
    yield f"tempos = {toml_list(map(toml_number, lesson.tempos_bpm))}"
    yield f"choruses = {lesson.choruses}"
    yield f"chart = {toml_lines(write_chart(lesson.chart).rstrip())}"
    yield from _sound(lesson.sound)


def _sound(sound: SoundSpec) -> Lines:
    if sound.source is not USUAL_SOUND.source:
        yield f"sound = {toml_text(sound.source)}"
    if sound.soundfont:
        yield f"soundfont = {toml_text(sound.soundfont)}"
    if sound.a4_hz != USUAL_SOUND.a4_hz:
        yield f"a4 = {toml_number(sound.a4_hz)}"
    for key in ("files", "stems"):
        if getattr(sound, key) != getattr(USUAL_SOUND, key):
            yield f"{key} = {toml_list(map(toml_text, getattr(sound, key)))}"


def _exercises(lesson: Lesson) -> Lines:
    if lesson.exercises != tuple(ExerciseKind):
        yield f"kinds = {toml_list(map(toml_text, lesson.exercises))}"
    if lesson.order is not ExerciseOrder.COURSE:
        yield f"order = {toml_text(lesson.order)}"


def _study(study: StudySpec) -> Lines:
    usual = StudySpec(bars=study.bars)
    yield f"bars = {study.bars}"
    for key, name in (("studies", "how_many"), ("longest_run", "longest_run")):
        if getattr(study, name) != getattr(usual, name):
            yield f"{key} = {getattr(study, name)}"
    for key in ("dial", "hardest"):
        if getattr(study, key) != getattr(usual, key):
            yield f"{key} = {toml_number(getattr(study, key))}"
    for key in ("every_motif", "question_and_answer", "another_ending"):
        if getattr(study, key) != getattr(usual, key):
            yield f"{key} = {str(getattr(study, key)).lower()}"
    if study.most_space != usual.most_space:
        yield f"most_space = {toml_number(float(study.most_space))}"
    if study.chord_tone_endings or study.endings:
        endings = CHORD_TONES if study.chord_tone_endings else " ".join(map(str, study.endings))
        yield f"endings = {toml_text(endings)}"
    for key in ("first", "last", "peak"):
        spot = getattr(study, key)
        if spot is not None:
            yield f"{key} = {toml_text(spot_text(spot.degree, spot.cycle))}"
    if study.difficulties:
        yield f"difficulty = {toml_list(map(toml_number, study.difficulties))}"
    if study.pins:
        yield f"pins = {toml_list(toml_text(f'bar {pin.bar + 1}: {pin.letter}') for pin in study.pins)}"
    if study.again:
        yield f"again = {toml_list(toml_text(again_text(entry)) for entry in study.again)}"


def again_text(entry: Redrawn) -> str:
    """Bars to draw anew as ``study.again`` names them."""
    study = "" if entry.study is None else f"study {entry.study + 1}: "
    turn = "" if entry.turn == 1 else f", turn {entry.turn}"
    return f"{study}bars {bars_text(bar + 1 for bar in entry.bars)}{turn}"


def _weights(weights: Weights) -> Lines:
    for key, value in asdict(weights).items():
        if value != getattr(USUAL_WEIGHTS, key):
            yield f"{key} = {toml_number(value)}"


def _lead(lesson: Lesson) -> Lines:
    touches = lesson.touches
    if lesson.lead_voice is not LeadVoice.GUITAR:
        yield f"voice = {toml_text(lesson.lead_voice)}"
    if touches.techniques:
        yield f"techniques = {toml_list(map(toml_text, touches.techniques))}"
    if touches.how_often is not HowOften.USUAL:
        yield f"how_often = {toml_text(touches.how_often)}"


def _practice(practice: PracticeSpec) -> Lines:
    for key, value in (("tempo", practice.tempo_bpm), ("rising", practice.rising_bpm)):
        if value is not None:
            yield f"{key} = {toml_number(value)}"
    if practice.call_and_response is not None:
        yield f"call_and_response = {practice.call_and_response}"
    if practice.drums_out is not None:
        yield f"drums_out = {toml_list(map(str, practice.drums_out))}"
    for key in ("lead_aside", "fourths", "click"):
        if getattr(practice, key):
            yield f"{key} = true"


def _recording(recording: RecordingSpec | None) -> Lines:
    if recording is None:
        return
    for key in ("file", "taps", "beats"):
        if getattr(recording, key):
            yield f"{key} = {toml_text(getattr(recording, key))}"
    if recording.choruses is not None:
        yield f"choruses = {recording.choruses}"
    if recording.stretch is not StretchKind.USUAL:
        yield f"stretch = {toml_text(recording.stretch)}"
    for key in ("first_bar", "first_beat"):
        if getattr(recording, key) != 1:
            yield f"{key} = {getattr(recording, key)}"
