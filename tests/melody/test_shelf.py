"""Choosing a shelf: varied, repeatable, with reasons; and its table over the chart."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from melody_strategies import box, chord, chords, motifs, open_a_minor, positions

from phrasewright.melody.ease import Fretted, stretch_mm, string_changes
from phrasewright.melody.enumerate import motifs_of
from phrasewright.melody.fit import fit_motif
from phrasewright.melody.fit_table import fit_table
from phrasewright.melody.motif import Contour
from phrasewright.melody.priors import Idiom
from phrasewright.melody.shelf import SEED_BITS, ShelfError, choose_motifs, choose_shelf, shelf_of
from phrasewright.melody.shelf_worth import Worths, common_traits, own_traits, sameness_bits
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.meter import Meter
from written_motifs import motif_from_text

CHORDS = (chord("A"), chord("D"), chord("E"))
FOUR = Meter(4, 4)
CHART = Chart(meter=FOUR, bars=tuple(ChartBar(chords=((one, FOUR.bar),)) for one in CHORDS))


@settings(max_examples=25)
@given(positions(), st.integers(1, 8), st.integers(0, 99))
def test_a_shelf_is_full_lettered_and_without_doubles(position, how_many, seed) -> None:
    """Any position gives as many different motifs as wished, A, B, C ..., within sizes and cycles."""
    shelf = choose_shelf(position, sizes=(2, 3), how_many=how_many, chords=CHORDS, seed=seed)
    assert len(shelf.items) == how_many
    assert "".join(item.letter for item in shelf.items) == "ABCDEFGH"[:how_many]
    assert len({item.motif for item in shelf.items}) == how_many
    assert {len(item.motif.steps) for item in shelf.items} <= {2, 3}
    assert all(item.why.startswith(f"{item.letter}: ") and item.why.endswith(".") for item in shelf.items)


def test_sizes_contours_and_cycles_are_spread() -> None:
    """Six motifs of three sizes: two of each; several shapes; both cycles."""
    shelf = choose_shelf(open_a_minor(), sizes=(2, 3, 4), how_many=6, chords=CHORDS)
    motifs = [item.motif for item in shelf.items]
    assert Counter(len(motif.steps) for motif in motifs) == {2: 2, 3: 2, 4: 2}
    assert len({motif.contour for motif in motifs}) >= 3
    assert {cycle for motif in motifs for cycle in motif.cycles} == {1, 2}


def test_transposed_copies_come_last() -> None:
    """With four shapes of three notes to choose from, four motifs have four shapes."""
    shelf = choose_shelf(box("A", "minor-pentatonic", 5), sizes=(3,), how_many=4)
    assert len({item.motif.moves for item in shelf.items}) == 4


def test_wishes_are_kept() -> None:
    """Only the wished shapes and cycles come; the same seed gives the same shelf, some seeds another."""
    wish = {"sizes": (3, 4), "contours": (Contour.RISING, Contour.FALLING), "cycles": (1,), "how_many": 4}
    shelf = choose_shelf(open_a_minor(), **wish)
    assert {item.motif.contour for item in shelf.items} == {Contour.RISING, Contour.FALLING}
    assert all(item.motif.cycles == (1,) for item in shelf.items)
    assert choose_shelf(open_a_minor(), **wish) == shelf
    many = {choose_shelf(open_a_minor(), how_many=4, seed=seed).items for seed in range(12)}
    assert len(many) > 1


def test_a_choice_beside_a_teachers_own_adds_to_them() -> None:
    """Beside a rising and an arched motif of three notes the two chosen have other shapes, and none comes twice."""
    position = open_a_minor()
    own = [motif_from_text(position, text) for text in ("1 b3 4", "1 b3 1")]
    chosen = choose_motifs(position, sizes=(3,), how_many=2, beside=own)
    assert not set(chosen) & set(own)
    assert len({motif.contour for motif in (*own, *chosen)}) == 4


def test_nothing_is_left_to_choose_where_a_teacher_wrote_it_all() -> None:
    """Five notes of cycle 1 have four stepwise rising pairs; beside all four there is none, and that is no error."""
    wish = {"sizes": (2,), "contours": (Contour.RISING,), "cycles": (1,), "how_many": 9}
    every = choose_motifs(open_a_minor(), **wish)
    assert len(every) == 4
    assert choose_motifs(open_a_minor(), **wish, beside=every) == ()


@settings(max_examples=30)
@given(positions(), st.integers(1, 2), st.integers(1, 9), st.integers(0, 99), st.booleans())
def test_every_choice_is_the_best_beside_those_before(position, step, how_many, seed, jazz) -> None:
    """Choosing lazily gives what weighing every motif anew at each turn gives."""
    idiom = Idiom.JAZZ if jazz else Idiom.BLUES
    found = list(motifs_of(position, sizes=(2, 3), largest_step=step))
    own, pool = found[:1], found[1:]
    rng = Random(f"shelf {seed}")
    worths = Worths(position, CHORDS, idiom)
    worth = {motif.steps: worths.worth(motif.steps) + SEED_BITS * rng.random() for motif in pool}
    seen = Counter(trait for motif in own for trait in (*common_traits(motif), *own_traits(motif)))
    expected = []
    for _ in range(how_many):
        best = max(pool, key=lambda m: worth[m.steps] - sameness_bits((*common_traits(m), *own_traits(m)), seen))
        pool.remove(best)
        expected.append(best)
        seen.update((*common_traits(best), *own_traits(best)))
    wish = {"sizes": (2, 3), "largest_step": step, "how_many": how_many, "seed": seed, "idiom": idiom}
    assert set(choose_motifs(position, chords=CHORDS, beside=own, **wish)) == set(expected)


@given(motifs(), st.lists(chords(), max_size=4), st.sampled_from(Idiom))
def test_the_worth_of_a_motif_is_its_mean_fit_its_landing_and_its_ease(motif, over, idiom) -> None:
    """Worths worked out note by note agree with the fit of the whole motif and the measures of its line."""
    fits = [fit_motif(motif, chord, idiom=idiom) for chord in over]
    bits = sum(fit.bits for fit in fits) / len(fits) if fits else 0.0
    landing = max((fit.landing.bits for fit in fits if fit.landing.role.is_chord_tone), default=0.0)
    line = [Fretted(note.place, note.finger) for note in motif.notes]
    leaps = sum(abs(move) - 1 for move in motif.moves if move)
    hand = (
        0.1 * string_changes(line)
        + 0.002 * stretch_mm(line, motif.position.instrument) * 2 ** (motif.position.lowest_fret / 12)
        + 0.05 * leaps
        + 0.3 * (len(motif.cycles) > 1)
        + 0.5 * (len(motif.steps) - len(set(motif.steps)))
    )
    worths = Worths(motif.position, over, idiom)
    assert worths.hand_bits(motif.steps) == pytest.approx(hand)
    assert worths.worth(motif.steps) == pytest.approx(bits + landing / 2 - hand)


def test_a_shelf_may_be_smaller_than_wished_but_not_empty() -> None:
    """Five notes of cycle 1 have four stepwise rising pairs and no more; a cycle that is not there has none."""
    rising = choose_shelf(open_a_minor(), sizes=(2,), contours=(Contour.RISING,), cycles=(1,), how_many=9)
    assert len(rising.items) == 4
    with pytest.raises(ShelfError, match="no motif"):
        choose_shelf(open_a_minor(), cycles=(7,))


def test_better_fit_wins_between_equals() -> None:
    """Of all pairs, the one chosen first sits on the chords no worse than the middle of the field."""
    position = open_a_minor()
    shelf = choose_shelf(position, sizes=(2,), how_many=1, chords=(chord("A", "minor-seventh"),))
    fits = sorted(
        cell.bits
        for row in fit_table(
            shelf_of(position, list(motifs_of(position, sizes=(2,)))),
            Chart(meter=FOUR, bars=(ChartBar(chords=((chord("A", "minor-seventh"), FOUR.bar),)),)),
        )
        for cell in row.cells
    )
    best = shelf.items[0].best
    assert best is not None
    assert best[1].bits >= fits[len(fits) // 2]
    assert best[1].landing.role.is_chord_tone


def test_written_motifs_keep_their_order() -> None:
    """A teacher's own motifs are lettered as written; reasons name what only one of them brings."""
    position = open_a_minor()
    shelf = shelf_of(position, [motif_from_text(position, text) for text in ("1 b3 4 b3", "1 b3")], chords=CHORDS)
    assert [item.motif.degrees_text for item in shelf.items] == ["1 ♭3 4 ♭3", "1 ♭3"]
    assert "no other goes up and back" in shelf["A"].why
    assert shelf.sizes == (2, 4)
    assert [item.letter for item in shelf.of_size(2)] == ["B"]
    with pytest.raises(KeyError):
        shelf["Z"]
    with pytest.raises(ShelfError, match="1 to 26"):
        shelf_of(position, [])


def test_the_table_has_a_row_a_motif_and_a_cell_a_chord() -> None:
    """Rows in order of letters, cells in order of the chart; each cell says its grade and landing."""
    shelf = choose_shelf(open_a_minor(), how_many=3, chords=CHORDS, idiom=Idiom.BLUES)
    table = fit_table(shelf, CHART, idiom=Idiom.BLUES)
    assert [row.letter for row in table] == ["A", "B", "C"]
    for row in table:
        assert [cell.chord for cell in row.cells] == list(CHORDS)
        assert all(cell.chord.printed in cell.landing_words for cell in row.cells)
        best = row.item.best
        assert best is not None
        landing = [cell for cell in row.cells if cell.fit.landing.role.is_chord_tone]
        assert best[1].bits == max(cell.bits for cell in landing or row.cells)
