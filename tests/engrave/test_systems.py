"""Systems as figures: complete, self-contained, nothing over anything else, and an engraver that survives."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import combinations, pairwise

import pypdfium2
import pytest
import typst
from hypothesis import given, settings
from lxml import etree

import sample_scores
from phrasewright.engrave.density import bars_that_fit, line_counts, line_need_mm
from phrasewright.engrave.geometry import Extent, path_points
from phrasewright.engrave.outlines import SVG, Anchor, Run, Style, Typesetter, width_of
from phrasewright.engrave.palette import flatten
from phrasewright.engrave.systems import Engraving, System, engrave_score
from phrasewright.engrave.worker import Engraver, EngravingError
from phrasewright.score.model import Score
from strategies import lead_scores


@pytest.fixture(scope="module")
def engraver() -> Iterator[Engraver]:
    with Engraver() as one:
        yield one


def root_of(system: System) -> etree._Element:
    return etree.fromstring(system.svg.encode())


def draw(score: Score, engraver: Engraver, prefix: str = "x-", **layout: float) -> Engraving:
    bars = layout.get("bars")
    return engrave_score(
        score,
        id_prefix=prefix,
        width_mm=layout.get("width_mm", 180.0),
        bars_per_system=None if bars is None else int(bars),
        engraver=engraver,
    )


def check_complete(engraving: Engraving, score: Score) -> None:
    """Every note drawn, every reference met, no style sheet, no font, ids unique."""
    roots = [root_of(system) for system in engraving.systems]
    ids = [str(element.get("id")) for root in roots for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    lead = score.parts[0].notes
    assert {f"x-n{index}" for index in range(len(lead))} <= set(ids)
    for root in roots:
        assert len([group for group in root.iter(f"{{{SVG}}}g") if group.get("class") == "system"]) == 1, (
            "one line each"
        )
        own = {str(element.get("id")) for element in root.iter() if element.get("id")}
        assert {str(use.get("href"))[1:] for use in root.iter(f"{{{SVG}}}use")} <= own
        assert root.find(f".//{{{SVG}}}style") is None
        drawn = {element.get("data-note") for element in root.iter() if element.get("data-note")}
        assert drawn <= {str(index) for index in range(len(lead))}
    text = "".join(system.svg for system in engraving.systems)
    assert not re.search("[\ue000-\uf8ff]", text)


@pytest.mark.parametrize("make", [*sample_scores.ALL, sample_scores.touched])
def test_figures_are_complete_and_stand_alone(make: Callable[[], Score], engraver: Engraver) -> None:
    """Wide and narrow, each figure holds all it refers to, and all letters are outlines."""
    for layout in ({}, {"width_mm": 100.0, "bars": 2}):
        engraving = draw(make(), engraver, **layout)
        check_complete(engraving, make())
        assert all("<text" not in system.svg for system in engraving.systems)


@pytest.mark.parametrize("make", sample_scores.ALL)
def test_a_piece_of_one_line_stays_on_it(make: Callable[[], Score], engraver: Engraver) -> None:
    """However much stands on it: nothing is left for the engraver to break."""
    score = make()
    (line,) = draw(score, engraver, bars=len(score.measures)).systems
    assert (line.first_bar, line.last_bar) == (1, len(score.measures))
    check_complete(Engraving(systems=(line,)), score)


@settings(max_examples=12)
@given(score=lead_scores())
def test_any_score_can_be_drawn(engraver: Engraver, score: Score) -> None:
    """Any meter, key, tuning and rhythm gives complete figures with places that rise with time."""
    engraving = draw(score, engraver)
    check_complete(engraving, score)
    for system in engraving.systems:
        assert all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(system.moments))
        assert system.height_mm > 15.0


def words_of(system: System) -> list[tuple[str, Extent]]:
    """Every outlined word with its extent."""
    found = []
    for group in root_of(system).iter(f"{{{SVG}}}g"):
        places = [re.findall(r"-?[\d.]+", str(use.get("transform"))) for use in group if group.get("data-text")]
        if not places:
            continue
        size = float(places[0][2]) * 2048
        x0, y = float(places[0][0]), float(places[0][1])
        width = width_of([Run(str(group.get("data-text")), size)])
        found.append((str(group.get("data-text")), Extent(x0, y - 0.66 * size, x0 + width, y)))
    return found


@pytest.mark.parametrize("make", [*sample_scores.ALL, sample_scores.touched])
@pytest.mark.parametrize("layout", [{}, {"width_mm": 100.0, "bars": 2}])
def test_no_word_runs_into_another_or_off_the_page(
    make: Callable[[], Score], layout: dict[str, float], engraver: Engraver
) -> None:
    """Chord names, labels, fingers, digits and degrees keep clear of each other and inside the figure."""
    for system in draw(make(), engraver, **layout).systems:
        x, y, width, height = map(float, str(root_of(system).get("viewBox")).split())
        words = words_of(system)
        for (one, a), (other, b) in combinations(words, 2):
            apart = a.x1 <= b.x0 + 1 or b.x1 <= a.x0 + 1 or a.y1 <= b.y0 + 1 or b.y1 <= a.y0 + 1
            assert apart, (one, other)
        for word, box in words:
            assert x <= box.x0, word
            assert box.x1 <= x + width + 20, word
            assert y <= box.y0, word
            assert box.y1 <= y + height, word


def test_bars_are_shared_out_as_asked(engraver: Engraver) -> None:
    """Dense bars get fewer to a line; a short last line leaves paper; places of bars are told."""
    dense = draw(sample_scores.dense(), engraver)
    assert [(s.first_bar, s.last_bar) for s in dense.systems] == [(1, 2), (3, 4), (5, 6), (7, 8)]
    forced = draw(sample_scores.dense(), engraver, bars=3)
    assert [(s.first_bar, s.last_bar) for s in forced.systems] == [(1, 3), (4, 6), (7, 8)]
    assert {system.width_mm for system in forced.systems} == {180.0}
    assert 110.0 < forced.systems[-1].moments[-1][1] < 140.0


def test_every_other_system_repeats_the_chord_and_names_its_bar(engraver: Engraver) -> None:
    """A reader who starts at line two finds the bar number and the chord."""
    second = draw(sample_scores.dense(), engraver).systems[1]
    words = [word for word, _ in words_of(second)]
    assert "Am7" in words
    assert "3" in words


def test_everything_of_a_note_carries_its_number(engraver: Engraver) -> None:
    """Head, digit, degree, finger and label of the first note, and both pieces of a tied one."""
    first = draw(sample_scores.motifs(), engraver).systems[0]
    marked = root_of(first).xpath("//*[@data-note='0']/@id")
    assert sorted(map(str, marked)) == ["x-d0", "x-f0", "x-l0", "x-n0", "x-t0"]
    tied = draw(sample_scores.triplets_and_ties(), engraver).systems[0]
    pieces = {str(name) for name in root_of(tied).xpath("//*[@data-note='9']/@id")}
    assert {"x-n9", "x-n9-2", "x-t9", "x-t9-2"} <= pieces


def test_held_digits_stand_in_brackets(engraver: Engraver) -> None:
    """A note tied over the bar line is not struck again."""
    tied = draw(sample_scores.triplets_and_ties(), engraver).systems[0]
    assert root_of(tied).xpath("string(//*[@id='x-t9-2']/*/@data-text)") == "(1)"


def test_silence_is_ruled(engraver: Engraver) -> None:
    """Two beats of rest make a ruler with three marks; running notes none."""
    ruler = root_of(draw(sample_scores.motifs(), engraver).systems[0]).xpath("string(//*[@class='silence']/@d)")
    assert str(ruler).count("H") == 3
    assert str(ruler).count("v") == 2 + 3 + 3
    assert not root_of(draw(sample_scores.dense(), engraver).systems[0]).xpath("//*[@class='silence']")


def test_a_time_has_a_place(engraver: Engraver) -> None:
    """Notes stand at their x; between them the place is interpolated, outside it is held."""
    system = draw(sample_scores.motifs(), engraver).systems[0]
    first, second = (system.x_mm(Fraction(beat)) for beat in (0, 1))
    assert 10.0 < first < second < 180.0
    assert system.x_mm(Fraction(1, 2)) == pytest.approx((first + second) / 2)
    assert system.x_mm(Fraction(-1)) == first
    assert system.x_mm(Fraction(99)) == system.moments[-1][1]


def test_two_figures_share_a_page(engraver: Engraver) -> None:
    """Different prefixes give disjoint ids."""
    ids = [
        {str(e.get("id")) for s in draw(sample_scores.motifs(), engraver, p).systems for e in root_of(s).iter()}
        - {"None"}
        for p in ("a-", "b-")
    ]
    assert not ids[0] & ids[1]


def test_the_same_score_is_the_same_figure(engraver: Engraver) -> None:
    """Engraving is repeatable."""
    assert draw(sample_scores.seven(), engraver) == draw(sample_scores.seven(), engraver)


@pytest.mark.parametrize("prefix", ["", "1a", "a b", "a<"])
def test_a_prefix_must_make_an_id(prefix: str) -> None:
    """Ids begin with a letter and hold no spaces or signs."""
    with pytest.raises(ValueError, match="id prefix"):
        engrave_score(sample_scores.motifs(), id_prefix=prefix)


def test_print_shows_the_same_ink(engraver: Engraver) -> None:
    """The typesetter draws the figure without any font at hand; ink lands on every part of it."""
    system = draw(sample_scores.motifs(), engraver).systems[0]
    source = f"#set page(width: 190mm, height: {system.height_mm + 10}mm, margin: 5mm)\n#image(svg, width: 180mm)"
    svg = flatten(system.svg).replace("\\", "\\\\").replace('"', '\\"')
    pdf = typst.compile(f'#let svg = bytes("{svg}")\n{source}'.encode(), ignore_system_fonts=True)
    page = pypdfium2.PdfDocument(pdf)[0].render(scale=2).to_pil().convert("L")
    columns, rows = 6, 3
    for column in range(columns):
        for row in range(rows):
            box = (page.width * column // columns, page.height * row // rows)
            cell = page.crop((*box, box[0] + page.width // columns, box[1] + page.height // rows))
            assert cell.getextrema()[0] < 120, (column, row)


# --- the engraving process


BROKEN = """<mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score><scoreDef><staffGrp>
<staffDef n="1" lines="6" notationtype="tab.guitar"/></staffGrp></scoreDef><section><measure><staff n="1"><layer n="1">
<tabGrp dur="4"><note tab.course="1" tab.fret="X"/></tabGrp></layer></staff></measure></section></score></mdiv></body>
</music></mei>"""


def test_a_crash_is_an_error_and_the_next_call_works() -> None:
    """The engraving library ends its process on this input; this program goes on."""
    with Engraver() as engraver:
        with pytest.raises(EngravingError, match="broke down"):
            engraver.pages(BROKEN, {})
        assert len(engraver.pages(BROKEN.replace('"X"', '"3"'), {})) == 1


def test_nonsense_is_refused_with_words() -> None:
    """What is no music at all does not end the process."""
    with Engraver() as engraver, pytest.raises(EngravingError, match="could not be read"):
        engraver.pages("<html/>", {})


def test_a_closed_engraver_starts_again() -> None:
    """Closing twice is harmless; the next call starts a new process."""
    engraver = Engraver()
    engraver.close()
    assert engraver.onsets(BROKEN.replace('"X"', '"3"'))
    engraver.close()
    engraver.close()


# --- parts


@pytest.mark.parametrize(
    ("needs", "width", "most", "expected"),
    [((30.0,) * 4, 120.0, 4, 4), ((30.0,) * 4, 100.0, 4, 2), ((30.0, 90.0), 100.0, 2, 1), ((300.0,), 100.0, 4, 1)],
)
def test_bars_halve_until_they_fit(needs: tuple[float, ...], width: float, most: int, expected: int) -> None:
    """Four, two or one to a line; never none."""
    assert bars_that_fit(needs, width, most) == expected
    assert line_need_mm(needs, expected) <= width or expected == 1


@pytest.mark.parametrize(
    ("needs", "expected"),
    [
        ((10.0,) * 8, (4, 4)),
        ((10.0,) * 4 + (30.0,) * 4, (4, 2, 2)),
        ((10.0, 10.0, 30.0, 90.0, 10.0, 10.0), (1, 1, 1, 1, 4)),
        ((10.0,), (4,)),
    ],
)
def test_only_full_phrases_are_halved(needs: tuple[float, ...], expected: tuple[int, ...]) -> None:
    """One dense phrase of four bars does not make the others take more lines."""
    assert line_counts(needs, 100.0, 4) == expected


def test_path_points_follow_every_command() -> None:
    """Relative and absolute moves, lines and curves."""
    data = "M10 10h5v-5l-5 0zM0 0C1 1 2 2 3 3s1 1 2 2q1 0 1 1V9H-1"
    assert list(path_points(data))[-3:] == [(6.0, 6.0), (6.0, 9.0), (-1.0, 9.0)]


def test_text_is_measured_and_set_as_outlines() -> None:
    """Widths add up, the anchor is the middle, signs are drawn, unknown letters stay text."""
    setter = Typesetter("p-")
    runs = [Run("F♯m7♭5", 400.0)]
    line = setter.line(runs, 1000.0, 0.0, Anchor.MIDDLE)
    assert float(re.findall(r"[\d.]+", str(line[0].get("transform")))[0]) == pytest.approx(
        1000.0 - width_of(runs) / 2, abs=1.0
    )
    assert len(line) == 6
    assert len(setter.definitions()) == 6
    assert width_of([Run("AA", 100.0, Style.BOLD)]) == pytest.approx(2 * width_of([Run("A", 100.0, Style.BOLD)]))
    assert etree.QName(setter.line([Run("Ответ", 400.0)], 0.0, 0.0)).localname == "text"
