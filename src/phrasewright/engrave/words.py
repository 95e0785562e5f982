"""Whole pieces in plain words: a chart, an exercise bar by bar, and the ``words.txt`` of a lesson."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from phrasewright.engrave.spoken import (
    spoken_beats,
    spoken_chord,
    spoken_degree,
    spoken_moment,
    spoken_motif,
    spoken_name,
    spoken_number,
    spoken_ordinal,
    spoken_place,
    spoken_position,
)
from phrasewright.melody.motif import Motif
from phrasewright.neck.instrument import Instrument
from phrasewright.neck.place import Position
from phrasewright.score.chart import Chart
from phrasewright.score.model import Measure, Note, Part, PartRole, Score
from phrasewright.theory.count import Count
from phrasewright.theory.meter import Meter

LINE = 76  # signs a line of words.txt
_UNITS = {2: "half notes", 4: "quarter notes", 8: "eighth notes", 16: "sixteenth notes"}


@dataclass(frozen=True, slots=True, kw_only=True)
class LetteredMotif:
    """A motif with the letter it goes by, and its rhythm when it has one."""

    letter: str
    motif: Motif
    count: Count | None = None


def spoken_meter(meter: Meter) -> str:
    """``four beats in a bar, counted in quarter notes``."""
    beats = "one beat" if meter.upper == 1 else f"{spoken_number(meter.upper)} beats"
    return f"{beats} in a bar, counted in {_UNITS[meter.lower]}"


def spoken_chart(chart: Chart) -> str:
    """A chart: its meter, then the chords bar by bar; bars alike are said together."""
    bars = [
        (f"{bar.section}: " if bar.section else "", _spoken_chords(measure))
        for bar, measure in zip(chart.bars, chart.unfold(len(chart.bars)), strict=True)
    ]
    sentences, first = [], 0
    while first < len(bars):
        last = first
        while last + 1 < len(bars) and bars[last + 1] == ("", bars[first][1]):
            last += 1
        number = f"Bar {first + 1}" if first == last else f"Bars {first + 1} to {last + 1}"
        sentences.append(f"{bars[first][0]}{number}, {bars[first][1]}.")
        first = last + 1
    total = "one bar" if len(bars) == 1 else f"{spoken_number(len(bars))} bars"
    return f"{total[0].upper()}{total[1:]}, {spoken_meter(chart.meter)}. {' '.join(sentences)}"


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
    return f"Bar {measure.number}, {_spoken_chords(measure)}: {'; '.join(pieces)}."


def spoken_exercise(score: Score) -> str:
    """An exercise: title, instruction, then the lead bar by bar. Raises ValueError when it has no lead."""
    lead = score.part(PartRole.LEAD)
    bars = " ".join(spoken_bar(measure, lead) for measure in score.measures)
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
    return words + [spoken_bar(measure, lead) for measure in score.measures]


def _filled(words: str) -> str:
    """Folded at spaces only: neither a long word nor a hyphen is torn."""
    return textwrap.fill(words, LINE, break_long_words=False, break_on_hyphens=False)


def _headed(words: str, underline: str) -> str:
    return f"{textwrap.fill(words, LINE)}\n{underline * min(len(words), LINE)}"


def _spoken_chords(measure: Measure) -> str:
    words: list[str] = []
    for span in measure.chords:
        moment = f"from {spoken_moment(span.onset - measure.onset, measure.meter)} " if words else ""
        words.append(f"{moment}{spoken_chord(span.chord)}")
    if len(measure.chords) == 1 and measure.chords[0].chord is None:
        return "no chord"
    return f"over {', '.join(words)}" if words else "no chord"


def _spoken_note(note: Note, instrument: Instrument | None) -> str:
    name = spoken_degree(note.degree) if note.degree is not None else spoken_name(note.pitch.name)
    label = f"{_spoken_label(note.label)}, " if note.label else ""
    if instrument is None or note.place is None:
        return f"{label}{name}"
    return f"{label}{name}, {spoken_place(instrument, note.place)}"


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
