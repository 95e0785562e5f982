"""Figures of a take: every note is there, shapes say what colours say, any take can be drawn."""

from __future__ import annotations

from dataclasses import replace

import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from phrasewright.engrave.page.figures import inline_svg
from phrasewright.engrave.report.content import (
    FigureView,
    FindingView,
    LinesView,
    LineView,
    NoteView,
    ReportContent,
)
from phrasewright.engrave.report.page import report_page
from phrasewright.engrave.report.sheet import report_pdf
from phrasewright.engrave.take.motif_strip import MotifCard, motif_strip
from phrasewright.engrave.take.pitch_rows import PitchRow, pitch_row
from phrasewright.engrave.take.played import PlayedMark, Standing, Timing, sign
from phrasewright.engrave.take.string_row import StringRow, string_row
from phrasewright.engrave.take.timing_plot import TimedBar, timing_plot
from phrasewright.engrave.take.wave_row import Envelope, TimeLine, WaveRow, wave_row

STRINGS = ("E", "B", "G", "D", "A", "E")
LINE = TimeLine(points=((1.0, 10.0), (3.0, 60.0), (5.0, 150.0)), width_mm=160.0)
marks = st.builds(
    lambda number, onset, lasts, pitch, timing, standing, off, string, fret, sure, dead: PlayedMark(
        number=number,
        onset_s=onset,
        offset_s=onset + lasts,
        pitch_midi=pitch,
        words=f"note {number}",
        curve_cents=(None, 3.0, -12.0, None, 180.0),
        timing=timing,
        standing=standing,
        deviation_s=off,
        string=string,
        fret=str(fret),
        is_sure=sure,
        is_dead=dead,
    ),
    st.integers(0, 300),
    st.floats(0.5, 5.5),
    st.floats(0.01, 3.0),
    st.floats(40.0, 90.0),
    st.sampled_from(Timing),
    st.sampled_from(Standing),
    st.floats(-0.3, 0.3),
    st.one_of(st.none(), st.integers(1, 6)),
    st.integers(0, 24),
    st.booleans(),
    st.booleans(),
)


def notes_in(svg: str) -> set[int]:
    """Numbers of the notes drawn. The figure is one that may stand in a page."""
    inline_svg(svg)
    return {int(one.get("data-note", "")) for one in etree.fromstring(svg.encode()).iter() if one.get("data-note")}


@given(st.lists(marks, max_size=12))
@settings(max_examples=40, deadline=None)
def test_any_take_is_drawn(found: list[PlayedMark]) -> None:
    """Wave, tablature, pitch and timing hold every note they can show, whatever was heard."""
    envelope = Envelope(step_s=0.01, peaks=(0.0, 0.5, 1.0) * 100)
    wave = wave_row(
        WaveRow(time=LINE, marks=tuple((one, None) for one in found)), envelope, id_prefix="w-", label="<a>"
    )
    assert notes_in(wave) == {one.number for one in found}
    tab = string_row(
        StringRow(time=LINE, marks=tuple(found), strings=STRINGS, seconds=(1, 2)), id_prefix="s-", label="t"
    )
    assert notes_in(tab) == {one.number for one in found if one.string is not None}
    pitch = pitch_row(
        PitchRow(time=LINE, marks=tuple(found), rules=((60, "C4"),), span_midi=(40.0, 90.0)), id_prefix="p-", label="p"
    )
    assert notes_in(pitch) == {one.number for one in found if not one.is_dead}
    bars = [TimedBar(number=1, notes=tuple((one, 0.5) for one in found), middle_ms=3.0 if found else None)]
    plot = timing_plot(bars, band_ms=35.0, width_mm=160.0, bars_per_line=4, id_prefix="t-", label="t")
    assert notes_in(plot) == {one.number for one in found}


def test_shapes_tell_what_colours_tell() -> None:
    """Every standing and every timing has a shape of its own, without its colours too."""
    import re

    plain = PlayedMark(number=0, onset_s=0.0, offset_s=1.0, pitch_midi=60.0, words="")
    kinds = [replace(plain, standing=standing, timing=timing) for standing in Standing for timing in list(Timing)[:3]]
    kinds += [replace(plain, is_dead=True), replace(plain, standing=Standing.CHORD_TONE, is_sure=False)]
    shapes = [re.sub(r'(fill|stroke)="var\([^"]*"', r'\1="ink"', sign(kind, 5.0, 5.0)) for kind in kinds]
    assert len(set(shapes)) == len(kinds)


def test_places_follow_the_line() -> None:
    """Straight between points, on beyond the ends, and back."""
    assert LINE.x_mm(2.0) == pytest.approx(35.0)
    assert LINE.x_mm(5.5) == pytest.approx(172.5)
    for second in (1.0, 1.7, 3.3, 4.9):
        assert LINE.second_at(LINE.x_mm(second)) == pytest.approx(second)


def test_motif_cards_name_their_changes() -> None:
    """Letters, changes, and the player's own in dashes."""
    cards = (
        MotifCard(label="A", change="reversed", from_bars=0.0, to_bars=0.5, number=3),
        MotifCard(label="1", change="", from_bars=1.0, to_bars=1.2, number=9, is_own=True),
    )
    svg = motif_strip(cards, (1, 2, 3), width_mm=160.0, bars_per_line=2, id_prefix="m-", label="Motifs")
    assert notes_in(svg) == {3, 9}
    assert "reversed" in svg
    assert svg.count("stroke-dasharray") == 1


def content(*, findings: int = 2, words: str = "You played.", bars: int = 8) -> ReportContent:
    """A report of made-up figures."""
    mark = PlayedMark(number=0, onset_s=1.0, offset_s=2.0, pitch_midi=60.0, words="Bar 1", deviation_s=0.05)
    plot = timing_plot(
        [TimedBar(number=at, notes=((mark, 0.2),), middle_ms=50.0) for at in range(1, bars + 1)],
        band_ms=35.0,
        width_mm=160.0,
        bars_per_line=12,
        id_prefix="t-",
        label="t",
    )
    finding = FindingView(
        topic="timing", tone="work", said=words, try_next=words, sure="Likely.", where="bar 1", from_s=1.0, to_s=2.0
    )
    tab = string_row(StringRow(time=LINE, marks=(mark,), strings=STRINGS, seconds=(1,)), id_prefix="s-", label="t")
    return ReportContent(
        title="<b>Monday</b>",
        school="Harbour Lane",
        lesson='A "lesson" & more',
        words=words,
        remarks=(words,),
        first=(finding,) * findings,
        more=(),
        facts=(("notes", "1"),),
        signs=(),
        lines=LinesView(wide=(LineView(svgs=(tab,), points=((1.0, 5.0), (5.0, 95.0)), alt="Bar 1"),) * 40),
        pitch=LinesView(),
        timing=FigureView(wide=plot, narrow=plot, sheet=plot, alt="timing"),
        timing_words="",
        motifs=None,
        columns=("begins",),
        notes=(NoteView(onset_s=1.0, offset_s=2.0, words="</script><script>alert(1)</script>", cells=("1.00 s",)),),
        length_s=5.0,
        flac=b"fLaC",
        cautions=(),
        stamp="Heard",
    )


def test_words_are_never_markup() -> None:
    """Titles and words with angle brackets stay words, in text, in attributes and in the script's data."""
    page = report_page(content()).decode()
    assert "&lt;b&gt;Monday&lt;/b&gt;" in page
    assert "<b>Monday" not in page
    assert page.count("<script") == 3
    assert "alert(1)</script>" not in page
    assert report_page(content()).decode() == page


@pytest.mark.parametrize(
    ("findings", "words", "bars"), [(0, "Few.", 1), (3, "Long words follow. " * 30, 8), (3, "Very long. " * 600, 400)]
)
def test_the_print_is_one_page(findings: int, words: str, bars: int) -> None:
    """However much there is to say."""
    with pypdfium2.PdfDocument(report_pdf(content(findings=findings, words=words, bars=bars))) as pdf:
        assert len(pdf) == 1
        assert "Monday" in pdf[0].get_textpage().get_text_range()
