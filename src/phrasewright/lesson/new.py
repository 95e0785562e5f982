"""A commented lesson to begin with: every key with its description, ready to change.

The remarks are the schema's own descriptions, so they cannot go stale. Keys that a first lesson does not need stand
as remarks with an example.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from dataclasses import asdict

from phrasewright.compose.counts import default_counts
from phrasewright.compose.wish import USUAL_DIAL
from phrasewright.lesson.chart_text import write_chart
from phrasewright.lesson.defaults import starter_chart
from phrasewright.lesson.schema import SECTIONS, USUAL_WEIGHTS, Section
from phrasewright.lesson.write import toml_lines, toml_list, toml_number, toml_text
from phrasewright.neck.place import PositionStyle
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale

_WIDTH = 100
_HEAD = """\
# A lesson for Phrasewright. Lines that begin with # are remarks; delete them as you like.
# Everything that is commented out is left to the program, which then does what is usual.
#
#   phrasewright check FILE      says what is wrong, and where
#   phrasewright build FILE      makes the handout, the page and the band
"""
_WORDS = """\
Play each motif slowly until it is easy, then leave room: a phrase is a few notes and a rest.
Keep the band quiet enough to talk over. If a hand, arm or shoulder hurts, stop and rest;
if it keeps hurting, see a doctor."""
# what the remark of a key left out shows as an example
_EXAMPLES = {
    "teacher": '"Your name"',
    "school": '"Your school"',
    "tuning": '"drop-d"',
    "capo": "2",
    "frets": "24",
    "fretting_hand": '"right"',
    "scale_length_mm": "628",
    "degrees": '"1 b3 4 5 b7"',
    "fret": "5",
    "lowest_string": "5",
    "highest_string": "1",
    "string": "2",
    "notes_per_string": "3",
    "added_above": "1",
    "added_below": "1",
    "max_stretch_mm": "100",
    "cycles": "[1, 2]",
    "idiom": '"jazz"',
    "kinds": '["each-alone", "with-space", "free-choice"]',
    "form": '"blues"',
    "key": '"A"',
    "sound": '"sampled"',
    "soundfont": '"default-GM.sf2"',
    "a4": "442",
    "files": '["flac", "mp3", "ogg"]',
    "stems": '["wav"]',
    "order": '"difficulty"',
    "bars": "8",
    "every_motif": "true",
    "longest_run": "2",
    "most_space": "0.8",
    "endings": '"chord tones"',
    "question_and_answer": "true",
    "another_ending": "true",
    "first": '"1"',
    "last": '"1"',
    "peak": '"5 cycle 2"',
    "hardest": "6",
    "difficulty": "[4, 5]",
    "pins": '["bar 1: A"]',
    "again": '["bars 5-8"]',
    "position.left_out": '["b7 cycle 2"]',
    "motifs.left_out": '["1 b3 4"]',
    "tempo": "60",
    "call_and_response": "2",
    "drums_out": "[1, 4]",
    "lead_aside": "true",
    "rising": "4",
    "fourths": "true",
    "click": "true",
    "techniques": '["hammer-on", "slide", "vibrato"]',
    "voice": '"driven guitar"',
    "how_often": '"sparing"',
    "file": '"my-track.flac"',
    "taps": '"taps.txt"',
    "beats": '"my-track.beats.txt"',
    "choruses": "3",
    "stretch": '"fine"',
    "first_bar": "1",
    "first_beat": "1",
}
_WRITTEN = """\
# Motifs written out, instead of the sizes and shapes above or beside them:
#
# [[motifs.written]]
# degrees = "{degrees}"
# cycle = 1
# name = "my first three"
"""


def starter(
    title: str,
    root: str,
    kind: str = "minor-pentatonic",
    *,
    instrument: str = "guitar",
    style: str = PositionStyle.BOX,
    meter: str = "4/4",
    groove: str | None = None,
    teacher: str = "",
    school: str = "",
) -> str:
    """Text of a lesson in one scale. Raises ValueError for a root, kind or meter that is none (see theory)."""
    scale = Scale(NoteName.parse(root), SCALE_KINDS[kind])
    chart = write_chart(starter_chart(scale, Meter.parse(meter))).rstrip()
    values = {
        ("lesson", "title"): toml_text(title),
        ("lesson", "words"): toml_lines(_WORDS),
        ("lesson", "teacher"): toml_text(teacher) if teacher else "",
        ("lesson", "school"): toml_text(school) if school else "",
        ("lesson", "seed"): "1",
        ("instrument", "kind"): toml_text(instrument),
        ("scale", "root"): toml_text(str(scale.root)),
        ("scale", "kind"): toml_text(kind),
        ("position", "style"): toml_text(style),
        ("motifs", "sizes"): "[3, 4]",
        ("motifs", "shapes"): toml_list(map(toml_text, SECTIONS["motifs"].model_fields["shapes"].default)),
        ("motifs", "largest_step"): "1",
        ("motifs", "shelf"): "6",
        ("rhythm", "space"): "0.4",
        ("band", "meter"): toml_text(meter),
        ("band", "groove"): toml_text(groove) if groove else "",
        ("band", "tempos"): "[60, 75, 90]",
        ("band", "choruses"): "2",
        ("band", "chart"): toml_lines(chart),
        ("study", "studies"): "1",
        ("study", "dial"): toml_number(USUAL_DIAL),
    }
    values |= {("weights", key): toml_number(value) for key, value in asdict(USUAL_WEIGHTS).items()}
    examples = _EXAMPLES | {"counts": _counts_example(meter), "groove": '"swing"'}
    blocks = [_block(name, model, values, examples) for name, model in SECTIONS.items()]
    degrees = " ".join(str(degree) for degree in scale.kind.degrees[:3])
    blocks.insert(list(SECTIONS).index("motifs") + 1, _WRITTEN.format(degrees=degrees))
    return "\n".join([_HEAD, *blocks])


def _block(name: str, model: type[Section], values: Mapping[tuple[str, str], str], examples: Mapping[str, str]) -> str:
    lines = [f"# {(model.__doc__ or '').strip()}", f"[{name}]"]
    for key, field in model.model_fields.items():
        if key != "written":
            lines += _remark(field.description or "")
            value = values.get((name, key), "")
            lines.append(f"{key} = {value}" if value else f"# {key} = {examples.get(f'{name}.{key}') or examples[key]}")
    return "\n".join(lines) + "\n"


def _remark(description: str) -> Iterator[str]:
    return (f"# {line}" for line in textwrap.wrap(description, _WIDTH))


def _counts_example(meter: str) -> str:
    counts = default_counts(Meter.parse(meter))
    return toml_list(toml_text(counts[size][0].text) for size in (3, 4))
