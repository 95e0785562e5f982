"""Whole pieces in plain words: a chart, an exercise bar by bar, and the ``words.txt`` of a lesson."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from phrasewright.engrave.chart_words import opening, spoken_changes, spoken_chart, spoken_chords
from phrasewright.engrave.spoken import (
    spoken_beats,
    spoken_degree,
    spoken_moment,
    spoken_motif,
    spoken_name,
    spoken_ordinal,
    spoken_place,
    spoken_position,
)
from phrasewright.engrave.spoken_touch import spoken_touch
from phrasewright.melody.motif import Motif
from phrasewright.neck.instrument import Instrument
from phrasewright.neck.place import Position
from phrasewright.score.chart import Chart
from phrasewright.score.model import Measure, Note, Part, PartRole, Score
from phrasewright.theory.count import Count

LINE = 76  # signs a line of words.txt


@dataclass(frozen=True, slots=True, kw_only=True)
class LetteredMotif:
    """A motif with the letter it goes by, and its rhythm when it has one."""

    letter: str
    motif: Motif
    count: Count | None = None


def spoken_bar(measure: Measure, part: Part) -> str:
    """One bar of a part: ``Bar 1, over E minor seven: on one, root, fifth string open; then rest for two beats.``"""
    notes = [note for note in part.notes if measure.onset <= note.onset < measure.end]
    held = [note.end for note in part.notes if note.onset < measure.onset < note.end]
    pieces, at = [], measure.onset
    if held:
        at = min(max(held), measure.end)
        pieces.append(f"the note before still sounds for {spoken_beats(at - measure.onset, measure.meter.unit)}")
    for note in notes:
        moment = spoken_moment(note.onset - measure.onset, measure.meter)
        pieces.append(f"on {moment}, {_spoken_note(note, part.instrument)}{_held(note, measure)}")
        at = max(at, min(note.end, measure.end))
    silence = measure.end - at
    if not pieces:
        pieces.append("rest")
    elif silence >= measure.meter.unit / 2:
        pieces.append(f"then rest for {spoken_beats(silence, measure.meter.unit)}")
    slower = ", getting slower" if measure.slows else ""
    return f"Bar {measure.number}, {spoken_chords(measure)}{slower}: {'; '.join(pieces)}."


def spoken_bars(score: Score, part: Part) -> list[str]:
    """Every bar of a part, with the meter and the tempo where they change."""
    meter, pace = score.measures[0].meter, Fraction(1)
    said = []
    for measure in score.measures:
        said.append(opening(spoken_changes(measure, meter, pace)) + spoken_bar(measure, part))
        meter, pace = measure.meter, measure.pace
    return said


def spoken_exercise(score: Score) -> str:
    """An exercise: title, instruction, then the lead bar by bar. Raises ValueError when it has no lead."""
    lead = score.part(PartRole.LEAD)
    bars = " ".join(spoken_bars(score, lead))
    words = f" {score.words}" if score.words else ""
    return f"{score.title}.{words} {bars}"


def words_text(
    *,
    title: str,
    position: Position,
    motifs: Sequence[LetteredMotif] = (),
    chart: Chart | None = None,
    exercises: Sequence[Score] = (),
    studies: Sequence[Score] = (),
    paragraphs: Sequence[str] = (),
    cautions: Sequence[str] = (),
) -> str:
    """The whole lesson as text, in the order of work.

    paragraphs: the teacher's words, first; then a section each for place, motifs, chords, exercises and studies;
    cautions: last.
    """
    sections = [(f"The place: {position.name}", [spoken_position(position)])]
    if motifs:
        sections.append(("The motifs", [spoken_motif(m.motif, m.letter, m.count) for m in motifs]))
    if chart is not None:
        sections.append(("The chords", [spoken_chart(chart)]))
    sections += [(f"Exercise {n}: {score.title}", _spoken_bars(score)) for n, score in enumerate(exercises, start=1)]
    sections += [(study.title, _spoken_bars(study)) for study in studies]
    if cautions:
        sections.append(("Take care", list(cautions)))
    blocks = [_headed(title, "="), *map(_filled, paragraphs)]
    for heading, lines in sections:
        blocks += [_headed(heading, "-"), *map(_filled, lines)]
    return "\n\n".join(blocks) + "\n"


def _spoken_bars(score: Score) -> list[str]:
    lead = score.part(PartRole.LEAD)
    words = [score.words] if score.words else []
    return words + spoken_bars(score, lead)


def _filled(words: str) -> str:
    """Folded at spaces only: neither a long word nor a hyphen is torn."""
    return textwrap.fill(words, LINE, break_long_words=False, break_on_hyphens=False)


def _headed(words: str, underline: str) -> str:
    return f"{textwrap.fill(words, LINE)}\n{underline * min(len(words), LINE)}"


def _spoken_note(note: Note, instrument: Instrument | None) -> str:
    name = spoken_degree(note.degree) if note.degree is not None else spoken_name(note.pitch.name)
    label = f"{_spoken_label(note.label)}, " if note.label else ""
    if instrument is None or note.place is None:
        return f"{label}{name}"
    return f"{label}{spoken_touch(note.touch, name, spoken_place(instrument, note.place))}"


def _spoken_label(label: str) -> str:
    """What stands framed over a note: a motif's letter, or which tone of the chord it is."""
    letter, cut = label.rstrip("′"), label.count("′")
    if len(letter) == 1 and letter.isalpha():
        return f"motif {letter}" + (" cut short" if cut else "")
    number = label.rstrip("stndrh")
    tone = spoken_ordinal(int(number)) if number.isdigit() else label.removeprefix("chord ")
    return f"the {tone} of the chord" if tone != "tone" else "a tone of the chord"


def _held(note: Note, measure: Measure) -> str:
    if note.duration <= measure.meter.unit:
        return ""
    return f", held for {spoken_beats(note.duration, measure.meter.unit)}"
