"""The strip: every note of the lead once, at its time and pitch, and every silence measured."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest
from figure_cases import a_minor_open, chord, scores
from figure_checks import SVG, all_with, check_apart, check_figure, has_class
from hypothesis import given, settings

from phrasewright.engrave.contour import HEAD_MM
from phrasewright.engrave.strip import chord_names, labels, lines, meter_changes, rests, silences, strip
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Note, Part, PartRole, Score
from phrasewright.score.technique import Damping, Touch
from phrasewright.theory.meter import Meter

METERS = [(Fraction(4), None), (Fraction(2), Meter(2, 4)), (Fraction(2), Meter(2, 4)), (Fraction(4), None)]


def study(*spans: tuple[str, str], bars: int = 2) -> Score:
    """Notes of the open A minor place at (onset, duration)."""
    place = a_minor_open().notes
    notes = tuple(
        Note(
            onset=Fraction(onset),
            duration=Fraction(duration),
            pitch=place[i].pitch,
            place=place[i].place,
            degree=place[i].degree,
            label="A" if i == 0 else "",
        )
        for i, (onset, duration) in enumerate(spans)
    )
    chart = Chart(meter=Meter(4, 4), bars=(ChartBar(chords=((chord("A", "minor-seventh"), Fraction(4)),)),))
    lead = Part(role=PartRole.LEAD, name="lead", notes=notes, instrument=a_minor_open().instrument)
    return Score(title="Two calls", measures=chart.unfold(bars), parts=(lead,), fifths=0)


@given(scores())
@settings(max_examples=30)
def test_every_note_and_bar_is_drawn_once(score: Score) -> None:
    root = check_figure(strip(score, id_prefix="s"), "s")
    count = len(score.part(PartRole.LEAD).notes)
    assert sorted(int(g.get("data-note", "")) for g in all_with(root, "data-note")) == list(range(count))
    bars = [g.get("data-bar") for g in all_with(root, "data-bar")]
    assert bars == [str(measure.number) for measure in score.measures]


@given(scores())
@settings(max_examples=30)
def test_x_is_time_and_y_is_pitch(score: Score) -> None:
    """In a bar equal times are equally wide, heads lie between its bar lines, and higher notes stand higher."""
    lead = score.part(PartRole.LEAD)
    for row in lines(score):
        for bar in row.measures:
            inside = [note for note in lead.notes if bar.onset <= note.onset < bar.end]
            x0, x1 = row.bar_line_mm(bar.onset), row.bar_line_mm(bar.end)
            for note in inside:
                share = float((note.onset - bar.onset) / bar.meter.bar)
                assert row.time_mm(note.onset) == pytest.approx(x1 - (1 - share) * (x1 - row.time_mm(bar.onset)))
                assert x0 + HEAD_MM < row.time_mm(note.onset) < x1
                assert row.top < row.pitch_mm(note.pitch.midi) < row.plot_bottom
            for a, b in product(inside, repeat=2):
                higher = b.pitch.midi > a.pitch.midi
                assert (row.pitch_mm(b.pitch.midi) < row.pitch_mm(a.pitch.midi)) == higher


@given(scores())
@settings(max_examples=30)
def test_words_keep_apart(score: Score) -> None:
    """Chord names, letters and rest lengths of the whole strip never touch."""
    lead = score.part(PartRole.LEAD)
    for row in lines(score, bars_per_line=2, width_mm=95.0):
        boxes = [name.box for measure in row.measures for name in chord_names(row, measure)]
        boxes += [mark.box for mark in labels(row, lead)]
        boxes += [words.box for _, words in rests(row, score, lead) if words is not None]
        check_apart(boxes)


@given(scores())
def test_sound_and_silence_make_up_the_whole(score: Score) -> None:
    notes = score.part(PartRole.LEAD).notes
    silent = sum((end - start for start, end in silences(score, notes)), Fraction(0))
    assert silent + sum((note.duration for note in notes), Fraction(0)) == score.end


def test_a_silence_over_a_bar_line_is_one_bracket_with_its_whole_length() -> None:
    root = check_figure(strip(study(("0", "1"), ("1", "1"), ("5", "1")), id_prefix="s"), "s")
    words = ["".join(g.itertext()) for g in root.iter(f"{SVG}g") if has_class(g, "rest")]
    assert words == ["rest 3", "rest 2"]


def test_a_break_in_sound_is_a_break_in_the_line() -> None:
    root = check_figure(strip(study(("0", "1"), ("1", "1"), ("5", "1")), id_prefix="s"), "s")
    assert sum(has_class(g, "ribbon") for g in root.iter()) == 2


def test_notes_that_touch_over_a_bar_line_are_one_line() -> None:
    root = check_figure(strip(study(("3", "1"), ("4", "1")), id_prefix="s"), "s")
    assert sum(has_class(g, "ribbon") for g in root.iter()) == 1


def test_a_dead_note_is_a_cross_outside_the_line() -> None:
    """It has no pitch (common practice: an X for a head), so no line is drawn to it; it still lights."""
    score = study(("0", "1"), ("1", "1/2"), ("3/2", "1"))
    lead = score.part(PartRole.LEAD)
    dead = replace(lead.notes[1], touch=Touch(damping=Damping.DEAD))
    damped = replace(score, parts=(replace(lead, notes=(lead.notes[0], dead, lead.notes[2])),))
    root = check_figure(strip(damped, id_prefix="s"), "s")
    heads = {
        g.get("data-note"): [mark.tag for mark in g if has_class(mark, "head")] for g in all_with(root, "data-note")
    }
    assert heads == {"0": [f"{SVG}circle"], "1": [f"{SVG}path"] * 2, "2": [f"{SVG}circle"]}
    assert sum(has_class(g, "ribbon") for g in root.iter()) == 2


def test_a_new_meter_stands_under_its_first_bar() -> None:
    """Once where it changes and once where it changes back; the first one is at the edge of the strip."""
    am = chord("A", "minor-seventh")
    bars = [ChartBar(chords=((am, length),), meter=meter) for length, meter in METERS]
    chart = Chart(meter=Meter(4, 4), bars=tuple(bars))
    score = replace(study(("0", "1")), measures=chart.unfold(4))
    (row,) = lines(score)
    changes = meter_changes(row, score)
    assert [
        mark.box.x0 - row.bar_line_mm(score.measures[at].onset) for mark, at in zip(changes, (1, 3), strict=True)
    ] == [pytest.approx(0.8)] * 2
    drawn = ["".join(text.itertext()) for text in check_figure(strip(score, id_prefix="s"), "s").iter(f"{SVG}text")]
    assert [word for word in drawn if "/" in word] == ["2/4", "4/4"]


def test_the_description_reads_the_study_bar_by_bar() -> None:
    desc = check_figure(strip(study(("0", "1"), ("3/2", "1/2")), id_prefix="s"), "s").findtext(f"{SVG}desc", "")
    assert desc == (
        "Two calls. Bar 1, over A minor seven: on one, motif A, root, fifth string open; on the and of two, "
        "flat third, fifth string, third fret; then rest for two beats. Bar 2, over A minor seven: rest."
    )


def test_a_score_without_lead_is_refused() -> None:
    bare = Score(title="x", measures=study(("0", "1")).measures, parts=(), fifths=0)
    with pytest.raises(ValueError, match="no lead"):
        strip(bare, id_prefix="s")
