"""The fields of the teacher's desk, made from the lesson file's own schema, so that no key is missing or stale.

Each field is a key of the file; its kind says which control it gets, and its description is the schema's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Any

from phrasewright.band.groove import GROOVES
from phrasewright.lesson.schema import LessonFile
from phrasewright.neck.catalogue import INSTRUMENT_KINDS
from phrasewright.theory.scale import SCALE_KINDS


class Kind(StrEnum):
    """The controls. The value is what the browser's scripts know them by."""

    TEXT = "text"
    LINES = "lines"
    WHOLE = "whole"
    NUMBER = "number"
    SHARE = "share"
    YES_NO = "yes-no"
    CHOICE = "choice"
    CHOICES = "choices"
    NUMBERS = "numbers"
    TEXTS = "texts"


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One key of a lesson file as a control. usual: whether it may be left out, and then something usual holds."""

    section: str
    key: str
    label: str
    help: str
    kind: Kind
    usual: bool
    least: float | None = None
    most: float | None = None
    longest: int | None = None
    options: tuple[tuple[str, str], ...] = ()

    @property
    def id(self) -> str:
        """Of the control."""
        return f"{self.section}-{self.key.replace('_', '-')}"

    @property
    def path(self) -> str:
        """As the scripts name it."""
        return f"{self.section}.{self.key}"


LABELS = {
    "lesson.title": "Title",
    "lesson.words": "Words for the student",
    "lesson.teacher": "Teacher",
    "lesson.school": "School",
    "lesson.seed": "Seed",
    "instrument.kind": "Instrument",
    "instrument.tuning": "Tuning",
    "instrument.capo": "Capo",
    "instrument.frets": "Frets",
    "instrument.fretting_hand": "Hand on the neck",
    "instrument.scale_length_mm": "String length (mm)",
    "scale.root": "Root",
    "scale.kind": "Scale",
    "scale.degrees": "Scale of your own",
    "position.style": "How the hand lies",
    "position.fret": "Fret",
    "position.lowest_string": "Lowest string",
    "position.highest_string": "Highest string",
    "position.string": "The one string",
    "position.notes_per_string": "Notes per string",
    "position.added_above": "Notes added above",
    "position.added_below": "Notes added below",
    "position.left_out": "Notes left out",
    "position.max_stretch_mm": "Widest stretch (mm)",
    "motifs.sizes": "Notes in a motif",
    "motifs.shapes": "Shapes",
    "motifs.largest_step": "Largest step",
    "motifs.cycles": "Cycles",
    "motifs.shelf": "Motifs on the shelf",
    "motifs.idiom": "Habits",
    "rhythm.space": "Least space",
    "band.meter": "Meter",
    "band.groove": "Groove",
    "band.tempos": "Tempos",
    "band.choruses": "Choruses",
    "band.form": "Ready chart",
    "band.key": "Key of the ready chart",
    "band.chart": "Chart",
    "band.sound": "Sound",
    "band.soundfont": "SoundFont",
    "band.a4": "Concert pitch (Hz)",
    "band.files": "Files of the band",
    "band.stems": "Files of each part",
    "exercises.order": "Order",
    "exercises.kinds": "Kinds of exercise",
    "study.bars": "Bars",
    "study.studies": "How many",
    "study.dial": "Dial",
    "study.every_motif": "Every motif",
    "study.longest_run": "Same motif running, at most",
    "study.most_space": "Most space",
    "study.endings": "Phrases end on",
    "study.question_and_answer": "Question and answer",
    "study.another_ending": "Another ending",
    "study.first": "First note",
    "study.last": "Last note",
    "study.peak": "Highest note",
    "study.hardest": "Hardest phrase",
    "study.difficulty": "Difficulty wished",
    "study.pins": "Motifs fixed in bars",
    "weights.fit": "Fit with the chords",
    "weights.landing": "Landing on chord tones",
    "weights.join": "Joining smoothly",
    "weights.hand": "Way of the hand",
    "weights.again": "Same motif again",
    "weights.difficulty": "Difficulty wished",
    "lead.voice": "Voice of the lead",
    "lead.techniques": "Techniques",
    "lead.how_often": "How often",
    "practice.tempo": "Tempo of the versions",
    "practice.call_and_response": "Call and response (bars)",
    "practice.drums_out": "Drums out",
    "practice.lead_aside": "Lead on one side",
    "practice.rising": "Rising tempo (bpm a chorus)",
    "practice.fourths": "Round the fourths",
    "practice.click": "Clicks alone",
    "recording.file": "Recording",
    "recording.taps": "Taps",
    "recording.beats": "Beats file",
    "recording.choruses": "Choruses in it",
    "recording.stretch": "Engine",
    "recording.first_bar": "First tap: bar",
    "recording.first_beat": "First tap: beat",
}
ELSEWHERE = {"motifs.written", "motifs.left_out", "rhythm.counts", "study.again"}  # have controls of their own
_WORDS = {
    "scale.kind": {key: kind.name for key, kind in SCALE_KINDS.items()},
    "band.groove": {key: groove.name for key, groove in GROOVES.items()},
    "instrument.kind": {key: kind.name for key, kind in INSTRUMENT_KINDS.items()},
}


@cache
def fields() -> dict[str, Field]:
    """Every field by its path, ``band.tempos``, in the file's order."""
    schema = LessonFile.model_json_schema()
    found = {}
    for section, reference in schema["properties"].items():
        name = (reference.get("$ref") or reference["allOf"][0]["$ref"]).rpartition("/")[2]
        for key, shape in schema["$defs"][name]["properties"].items():
            field = _field(section, key, shape)
            if field.path not in ELSEWHERE:
                found[field.path] = field
    return found


def _field(section: str, key: str, shape: dict[str, Any]) -> Field:
    choices = [choice for choice in shape.get("anyOf", []) if choice.get("type") != "null"]
    plain = {**(choices[0] if choices else {}), **shape}
    path = f"{section}.{key}"
    items = plain.get("items", {})
    names = plain.get("enum") or items.get("enum") or ()
    words = _WORDS.get(path, {})
    return Field(
        section=section,
        key=key,
        label=LABELS.get(path, ""),
        help=shape.get("description", ""),
        kind=_kind(key, plain, items),
        usual=bool(choices),
        least=plain.get("minimum"),
        most=plain.get("maximum"),
        longest=plain.get("maxLength"),
        options=tuple((name, words.get(name, name)) for name in names),
    )


def _kind(key: str, shape: dict[str, Any], items: dict[str, Any]) -> Kind:
    match shape.get("type"):
        case "array" if items.get("enum"):
            return Kind.CHOICES
        case "array":
            return Kind.TEXTS if items.get("type") == "string" else Kind.NUMBERS
        case "boolean":
            return Kind.YES_NO
        case "integer":
            return Kind.WHOLE
        case "number":
            return Kind.SHARE if key in ("dial", "space") else Kind.NUMBER
    if shape.get("enum"):
        return Kind.CHOICE
    return Kind.LINES if key in ("words", "chart") else Kind.TEXT
