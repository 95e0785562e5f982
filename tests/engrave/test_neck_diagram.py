"""Neck diagrams: every note once, where it lies, at true distances, for any instrument and either hand."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from math import hypot

import pytest
from figure_cases import BASS, UKULELE, a_minor_open, instrument, position, positions
from figure_checks import SVG, all_with, check_apart, check_figure, has_class
from hypothesis import given, settings
from hypothesis import strategies as st

from phrasewright.engrave.lettering import Face, Style, letter
from phrasewright.engrave.neck_diagram import (
    DISC_MM,
    RING_MM,
    SHEET_MM,
    NeckLabels,
    finger_label,
    label_of,
    layout,
    neck_diagram,
)
from phrasewright.engrave.svg import UNITS_PER_MM
from phrasewright.neck.instrument import Hand, StringFret
from phrasewright.neck.place import Position, PositionStyle
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import NoteName

AM7 = Chord(root=NoteName("A"), kind=CHORD_KINDS["minor-seventh"])
some_positions = positions().filter(lambda p: bool(p.notes))


@given(some_positions, st.sampled_from(NeckLabels), st.booleans())
@settings(max_examples=60)
def test_every_note_is_drawn_once_with_its_label(laid: Position, labels: NeckLabels, over_chord: bool) -> None:
    """Each place of the position has one group with its label; roots have a ring, added notes a dashed edge."""
    root = check_figure(neck_diagram(laid, labels=labels, chord=AM7 if over_chord else None, id_prefix="n"), "n")
    groups = {group.get("data-place"): group for group in all_with(root, "data-place")}
    assert len(all_with(root, "data-place")) == len(groups) == len(laid.notes)
    for step, note in enumerate(laid.notes):
        group = groups[f"{note.place.string}-{note.place.fret}"]
        assert group.get("data-step") == str(step)
        assert group.get("data-label") == label_of(note, labels)
        inks = list(group.iter(f"{SVG}circle"))
        assert any(has_class(c, "ring") for c in inks) == (note.degree == Degree(1))
        assert any(has_class(c, "disc") and c.get("stroke-dasharray") for c in inks) == note.added
        in_chord = over_chord and note.pitch.name.pitch_class in AM7.pitch_classes
        assert any(has_class(c, "fill") for c in inks) == in_chord == has_class(group, "chord-tone")
        shows_finger = labels is NeckLabels.FINGERS and note.finger > 0
        assert any(has_class(g, "finger") for g in group) == shows_finger


@given(some_positions)
def test_frets_stand_at_true_distances(laid: Position) -> None:
    """On each line, drawn distances from its first wire are those of equal temperament times one scale."""
    where = layout(laid)
    for stretch in where.stretches:
        zero = where.wire_mm(stretch, stretch.first_wire)
        for fret in range(stretch.first_wire, stretch.last_wire + 1):
            drawn = abs(where.wire_mm(stretch, fret) - zero)
            assert drawn == pytest.approx(stretch.scale * laid.instrument.stretch_mm(stretch.first_wire, fret))


@given(some_positions)
def test_discs_rings_and_finger_numbers_keep_apart(laid: Position) -> None:
    """No disc or ring touches another, no finger number lies on a disc or another number."""
    where = layout(laid)
    spots = [(where.centre(n.place), RING_MM if n.degree == Degree(1) else DISC_MM, n) for n in laid.notes]
    for index, (first, first_mm, _) in enumerate(spots):
        for second, second_mm, _ in spots[index + 1 :]:
            assert hypot(first[0] - second[0], first[1] - second[1]) > first_mm + second_mm
    numbers = [finger_label(where, note).box for _, _, note in spots if note.finger]
    check_apart(numbers)
    for box in numbers:
        assert box.x0 >= 0.0
        assert box.x1 <= where.width_mm
        for (x, y), radius, _ in spots:
            near = (min(max(x, box.x0), box.x1), min(max(y, box.y0), box.y1))
            assert hypot(x - near[0], y - near[1]) > radius - 0.05


@given(some_positions, st.sampled_from(NeckLabels))
def test_labels_fit_their_discs(laid: Position, labels: NeckLabels) -> None:
    """A label is narrower than the disc it stands in."""
    for note in laid.notes:
        assert letter(0.0, 0.0, label_of(note, labels), Style(face=Face.SANS_BOLD)).box.width < 2 * DISC_MM - 0.6


@given(some_positions)
def test_a_right_hand_on_the_frets_mirrors_every_place(laid: Position) -> None:
    """Left and right hand differ by a reflection in x and by nothing in y."""
    left, right = (layout(replace(laid, instrument=replace(laid.instrument, fretting_hand=hand))) for hand in Hand)
    assert left.width_mm == right.width_mm
    for note in laid.notes:
        (x, y), (mirrored, same) = left.centre(note.place), right.centre(note.place)
        assert mirrored == pytest.approx(left.width_mm - x)
        assert same == y


@given(some_positions)
def test_the_figure_never_outgrows_the_sheet_unless_one_fret_does(laid: Position) -> None:
    """Long paths are drawn on several lines instead of leaving the sheet; lines follow each other without gap."""
    where = layout(laid)
    assert where.width_mm <= SHEET_MM + 0.01
    for above, below in pairwise(where.stretches):
        assert below.first_wire == above.last_wire
        assert below.top_mm > where.bottom_mm(above)


def test_order_on_paper_is_lowest_string_at_the_bottom_and_nut_left() -> None:
    where = layout(a_minor_open())
    x, y = where.centre(StringFret(5, 0))
    assert x < where.centre(StringFret(5, 3))[0]
    assert y > where.centre(StringFret(1, 0))[1]
    assert x < where.wire_mm(where.stretches[0], 0)


def test_a_minor_open_reads_as_the_lesson_says_it() -> None:
    """A minor pentatonic from the open fifth string: open 3 | open 2 | open 2 | 1 3 | open 3 (common practice)."""
    root = check_figure(neck_diagram(a_minor_open(), id_prefix="am"), "am")
    found = {group.get("data-place"): group.get("data-label") for group in all_with(root, "data-place")}
    flat3, flat7 = "♭3", "♭7"
    assert found == {
        "5-0": "1",
        "5-3": flat3,
        "4-0": "4",
        "4-2": "5",
        "3-0": flat7,
        "3-2": "1",
        "2-1": flat3,
        "2-3": "4",
        "1-0": "5",
        "1-3": flat7,
        "1-5": "1",
    }
    assert "Fifth string, the A string: open, which is the root" in root.findtext(f"{SVG}desc", "")


def test_the_description_counts_chord_tones_and_names_the_side_of_the_nut() -> None:
    svg = neck_diagram(a_minor_open(Hand.RIGHT), chord=AM7, id_prefix="n")
    desc = check_figure(svg, "n").findtext(f"{SVG}desc", "")
    assert "nut towards the right" in desc
    assert "9 of them are tones of A minor seven" in desc


def test_a_capo_is_drawn_and_named() -> None:
    root = check_figure(neck_diagram(position(instrument(UKULELE, capo=2), low=2, high=6), id_prefix="u"), "u")
    assert sum(has_class(element, "capo") for element in root.iter()) == 1
    assert "capo at the second fret" in root.findtext(f"{SVG}desc", "")
    assert "capo at fret 2" in "".join(root.itertext())


def test_a_movable_box_begins_one_fret_below_the_hand_and_shows_no_nut() -> None:
    box = position(instrument(BASS), low=5, high=8, style=PositionStyle.BOX)
    where = layout(box)
    assert [(s.first_wire, s.last_wire) for s in where.stretches] == [(4, 8)]
    assert "nut" not in re.findall(r'class="(\w+)"', neck_diagram(box, id_prefix="b"))


def test_a_path_along_one_string_to_fret_22_takes_two_lines() -> None:
    path = position(instrument(), "E", "phrygian", high=22, strings=(6,), style=PositionStyle.ONE_STRING)
    assert len(layout(path).stretches) == 2


def test_a_narrow_sheet_is_kept() -> None:
    path = position(instrument(), "E", high=12, strings=(1,), style=PositionStyle.ONE_STRING)
    assert layout(path, max_width_mm=95.0).width_mm <= 95.0
    with pytest.raises(ValueError, match="50 mm"):
        layout(path, max_width_mm=30.0)


def test_fewer_unused_frets_make_a_narrower_neck() -> None:
    """Frets that nobody plays are shown up to the number asked for, never fewer than are played."""
    assert layout(a_minor_open(), least_spaces=3).stretches[-1].last_wire == 5
    plain = position(instrument(), "E")
    four, three = (layout(plain, max_width_mm=60.0, least_spaces=number) for number in (4, 3))
    assert [where.stretches[-1].last_wire for where in (four, three)] == [4, 3]


def test_the_same_position_gives_the_same_bytes() -> None:
    assert neck_diagram(a_minor_open(), id_prefix="n") == neck_diagram(a_minor_open(), id_prefix="n")


def test_ids_must_begin_with_a_letter() -> None:
    with pytest.raises(ValueError, match="begins with a letter"):
        neck_diagram(a_minor_open(), id_prefix="1 bad")


def test_string_lines_are_thicker_towards_the_bass() -> None:
    root = check_figure(neck_diagram(a_minor_open(), id_prefix="n"), "n")
    strings = [line for line in root.iter(f"{SVG}line") if has_class(line, "string")]
    widths = [float(line.get("stroke-width", "0")) for line in sorted(strings, key=lambda s: float(s.get("y1", "0")))]
    assert widths == sorted(widths)
    assert widths[-1] > widths[0] > 0.1 * UNITS_PER_MM
