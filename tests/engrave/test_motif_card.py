"""Motif cards: every note once over its degree and count, and the rest to scale."""

from __future__ import annotations

from itertools import pairwise

import pytest
from figure_cases import a_minor_open, chord, counted_motifs, motifs
from figure_checks import SVG, all_with, check_apart, check_figure, has_class
from hypothesis import given

from phrasewright.engrave.motif_card import Grade, card_layout, card_words, motif_card
from phrasewright.melody.motif import Motif
from phrasewright.theory.count import Count, parse_count
from phrasewright.theory.meter import Meter

FOUR = Meter(4, 4)
RISE = Motif(a_minor_open(), (0, 1, 2))


@given(counted_motifs())
def test_every_note_is_drawn_once_with_its_place(pair: tuple[Motif, Count]) -> None:
    motif, count = pair
    root = check_figure(motif_card(motif, "A", count, id_prefix="m"), "m")
    found = [(g.get("data-note"), g.get("data-place")) for g in all_with(root, "data-note")]
    assert found == [(str(i), f"{n.place.string}-{n.place.fret}") for i, n in enumerate(motif.notes)]


@given(counted_motifs())
def test_time_and_silence_are_drawn_to_scale(pair: tuple[Motif, Count]) -> None:
    """x is linear in time from the left end of the ruler to its right end, where the bar ends."""
    motif, count = pair
    where = card_layout(motif, count)
    for sound, stroke in zip(where.sounds, count.strokes, strict=True):
        assert sound.x_mm - where.plot_left == pytest.approx(float(stroke.onset) * where.quarter_mm)
        assert sound.end_mm - sound.x_mm == pytest.approx(float(stroke.duration) * where.quarter_mm)
    assert where.plot_right - where.plot_left == pytest.approx(float(count.length) * where.quarter_mm)


@given(counted_motifs())
def test_degrees_and_counts_never_touch(pair: tuple[Motif, Count]) -> None:
    motif, count = pair
    where = card_layout(motif, count)
    words = [word.box for word in card_words(motif, count, where)]
    check_apart(words)
    assert all(box.x0 > 0.0 and box.x1 < where.width_mm for box in words)


@given(motifs())
def test_height_follows_pitch(motif: Motif) -> None:
    where = card_layout(motif)
    for (first, sound), (second, after) in pairwise(zip(motif.notes, where.sounds, strict=True)):
        assert (first.pitch.midi < second.pitch.midi) == (sound.y_mm > after.y_mm)
    check_apart([word.box for word in card_words(motif, None, where)])
    check_figure(motif_card(motif, "Z", id_prefix="m"), "m")


def test_a_rest_is_named_in_beats_on_open_paper() -> None:
    card = check_figure(motif_card(Motif(a_minor_open(), (0, 1)), "A", parse_count("1 2", FOUR), id_prefix="m"), "m")
    (rest,) = [g for g in card.iter(f"{SVG}g") if has_class(g, "rest")]
    assert "".join(rest.itertext()) == "rest 2"


def test_cards_of_one_scale_have_rests_that_can_be_compared() -> None:
    counts = [parse_count(text, FOUR) for text in ("1 2 3", "1 trip let")]
    shared = max(card_layout(RISE, count).quarter_mm for count in counts)
    widths = {card_layout(RISE, count, quarter_mm=shared).width_mm for count in counts}
    assert len(widths) == 1


def test_grades_are_dots_and_words() -> None:
    grades = (Grade(chord=chord("A", "minor-seventh"), marks=3), Grade(chord=chord("D", "minor"), marks=1))
    root = check_figure(motif_card(RISE, "A", grades=grades, id_prefix="m"), "m")
    marks = list(all_with(root, "data-grade"))
    assert [g.get("data-grade") for g in marks] == ["3", "1"]
    filled = [sum(c.get("fill") != "none" for c in g.iter(f"{SVG}circle")) for g in marks]
    assert filled == [3, 1]
    assert "Over A minor seven: three of three. Over D minor: one of three." in root.findtext(f"{SVG}desc", "")
    with pytest.raises(ValueError, match="grade"):
        Grade(chord=chord("A", "minor"), marks=4)


def test_a_count_must_have_a_stroke_for_every_note() -> None:
    with pytest.raises(ValueError, match="2 strokes cannot carry 3 notes"):
        motif_card(RISE, "A", parse_count("1 2", FOUR), id_prefix="m")


def test_the_description_says_degrees_places_and_count() -> None:
    root = check_figure(motif_card(RISE, "A", parse_count("1 & 3", FOUR), id_prefix="m"), "m")
    assert root.findtext(f"{SVG}desc", "") == (
        "Motif A: three notes, rising: root, flat third, fourth. Play fifth string: open, third fret; "
        "fourth string: open. Count: one, the and of one, then rest for one beat, three, then rest for one beat."
    )
