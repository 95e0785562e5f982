"""Draw the pictures of docs/figures.md: ``python tools/figure_examples.py`` writes docs/figures/*.svg."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from phrasewright.engrave.chart_figure import chart_figure
from phrasewright.engrave.motif_card import Grade, motif_card
from phrasewright.engrave.neck_diagram import NeckLabels, neck_diagram
from phrasewright.engrave.palette import Ink, flatten
from phrasewright.engrave.strip import strip
from phrasewright.melody.motif import Motif
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.place import Position, PositionStyle
from phrasewright.neck.request import PositionRequest
from phrasewright.neck.search import find_position
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Note, Part, PartRole, Score
from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.count import parse_count
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale

FOLDER = Path(__file__).resolve().parents[1] / "docs" / "figures"
FOUR = Meter(4, 4)
WALKS = (((2, 3, 4), "1 2 3"), ((4, 3, 2, 1), "1 & 2 &"), ((2, 4, 3), "1 - 3 &"), ((5, 4), "(1) & 3"))


def pictures() -> dict[str, str]:
    """File name to SVG."""
    position, chart = _position(), _chart()
    chord = chart.chords[0]
    walk, count = WALKS[0]
    grades = tuple(Grade(chord=c, marks=marks) for c, marks in zip(chart.chords, (3, 2, 1), strict=False))
    motif = Motif(position, walk)
    return {
        "neck.svg": neck_diagram(position, labels=NeckLabels.FINGERS, chord=chord, id_prefix="neck"),
        "motif.svg": motif_card(motif, "A", parse_count(count, FOUR), grades=grades, id_prefix="motif"),
        "chart.svg": chart_figure(chart, id_prefix="chart"),
        "strip.svg": strip(_study(position, chart), id_prefix="strip"),
    }


def _position() -> Position:
    scale = Scale(NoteName("E"), SCALE_KINDS["minor-pentatonic"])
    return find_position(scale, instrument("guitar"), PositionRequest(style=PositionStyle.BOX, fret=7))


def _chart() -> Chart:
    rows = (("Em7",), ("A7",), ("Em7",), ("B7(b9)", "Em7"))
    return Chart(meter=FOUR, bars=tuple(_bar([parse_chord(symbol) for symbol in row]) for row in rows))


def _bar(chords: list[Chord]) -> ChartBar:
    return ChartBar(chords=tuple((chord, FOUR.bar / len(chords)) for chord in chords))


def _study(position: Position, chart: Chart) -> Score:
    notes = []
    for index, (walk, text) in enumerate(WALKS):
        start = Fraction(index * FOUR.bar)
        for step, (place, stroke) in enumerate(
            zip(Motif(position, walk).notes, parse_count(text, FOUR).strokes, strict=True)
        ):
            notes.append(
                Note(
                    onset=start + stroke.onset,
                    duration=stroke.duration,
                    pitch=place.pitch,
                    place=place.place,
                    degree=place.degree,
                    label="" if step else "ABCD"[index],
                )
            )
    lead = Part(role=PartRole.LEAD, name="lead", notes=tuple(notes), instrument=position.instrument)
    return Score(title="Four calls", measures=chart.unfold(4), parts=(lead,), fifths=1)


def main() -> None:
    """Write every picture, on paper of its own so that it reads on any page."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, svg in pictures().items():
        head, bracket, body = flatten(svg).partition(">")
        ground = f'{bracket}<rect width="100%" height="100%" fill="{flatten(f"var(--{Ink.PAPER})")}"/>'
        (FOLDER / name).write_text(head + ground + body + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
