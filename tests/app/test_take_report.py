"""The report on a take: what it says of each note, where it places it, and its files."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from itertools import pairwise

import pypdfium2
import pytest

import reported_takes
from phrasewright.app.take_lines import envelope_of
from phrasewright.app.take_marks import played_marks
from phrasewright.app.take_report import report_content
from phrasewright.app.take_score import played_score, quarters_at
from phrasewright.engrave.report.content import ReportContent
from phrasewright.engrave.report.page import report_page
from phrasewright.engrave.report.sheet import report_pdf
from phrasewright.engrave.take.played import Standing, Timing
from phrasewright.score.model import PartRole
from reported_takes import BENT, DEAD, DOUBTED, HOSTILE, LATE, OFFSET_S, free_report, lesson_report, reviewed

NUMBER = re.compile(r'data-note="(\d+)"')


@pytest.fixture(scope="module")
def report() -> ReportContent:
    """Of the study, with words that try to be markup."""
    return lesson_report(HOSTILE, remarks=(HOSTILE,))


def numbers_in(svgs: tuple[str, ...]) -> set[int]:
    return {int(found) for svg in svgs for found in NUMBER.findall(svg)}


def test_marks_say_what_each_note_does() -> None:
    """The late one is late, all others on time; sure, dead and bent as heard."""
    told, _ = reviewed()
    marks = played_marks(told)
    assert [mark.number for mark in marks if mark.timing is Timing.LATE] == [LATE]
    assert not any(mark.timing is Timing.EARLY for mark in marks)
    assert [mark.number for mark in marks if not mark.is_sure] == [DOUBTED]
    assert [mark.number for mark in marks if mark.is_dead] == [DEAD]
    assert "bend of 2.0 semitones" in marks[BENT].words
    assert f"{1000 * reported_takes.LATE_S:.0f} ms late" in marks[LATE].words
    assert {mark.standing for mark in marks if not mark.is_dead} <= {Standing.CHORD_TONE, Standing.TENSION}


def test_what_was_played_is_written_down() -> None:
    """A take of the study reads as the study: every note at its count and pitch."""
    told, _ = reviewed()
    assert told.in_bars is not None
    played = played_score(told, told.in_bars)
    line = told.in_bars.assignment.line
    assert line is not None
    written = line.part(PartRole.LEAD).notes
    heard = played.score.part(PartRole.LEAD).notes
    assert [note.onset for note in heard] == [note.onset for note in written]
    same = [number for number in range(len(written)) if number not in (BENT, DEAD)]
    assert [heard[n].pitch.midi for n in same] == [written[n].pitch.midi for n in same]
    assert all(a.end <= b.onset for a, b in pairwise(heard))


def test_seconds_and_counts_agree() -> None:
    """A second of the take is read back as the count that sounds there."""
    told, _ = reviewed()
    assert told.in_bars is not None
    clock = told.in_bars.alignment.clock
    end = told.in_bars.alignment.measures[-1].end
    for here in told.in_bars.alignment.notes:
        assert abs(quarters_at(clock, clock.seconds_at(here.at) + 1e-6, end) - here.at) <= 1 / 32


def test_every_note_can_be_heard_on_every_sheet(report: ReportContent) -> None:
    """Both widths show all notes by their number among all heard, under the sound and in the music."""
    everyone = set(range(len(report.notes)))
    for lines in (report.lines.wide, report.lines.narrow):
        assert numbers_in(tuple(line.svgs[0] for line in lines)) == everyone
        assert numbers_in(tuple(line.svgs[1] for line in lines)) == everyone
    for line in (*report.lines.wide, *report.lines.narrow, *report.pitch.wide, *report.pitch.narrow):
        assert all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(line.points))
        assert 0.0 <= line.points[0][1] < line.points[-1][1] <= 100.0
    assert report.lines.wide[0].points[0][0] == pytest.approx(OFFSET_S, abs=0.05)


def test_the_page_stands_alone_and_escapes(report: ReportContent) -> None:
    """Nothing is asked for outside, words are never markup, the same content gives the same bytes."""
    page = report_page(report)
    text = page.decode()
    assert page == report_page(report)
    assert "<script>alert" not in text
    assert text.count("&lt;script&gt;alert(1)&lt;/script&gt;") >= 3
    addresses = re.findall(r'(?:src|href|action|data)="([^"]*)"', text)
    assert all(address.startswith(("#", "data:")) for address in addresses)
    assert "@import" not in text
    known = json.loads(re.findall(r'id="take">(.*?)</script>', text)[0])
    assert len(known["notes"]) == len(report.notes)
    ids = re.findall(r'\sid="([^"]+)"', text)
    assert len(ids) == len(set(ids))


def test_a_take_without_a_lesson_has_what_can_be_known() -> None:
    """Tablature in time, pitch and the notes; no bars, no findings, no motifs."""
    report = free_report()
    assert report.timing is None
    assert report.motifs is None
    assert numbers_in(tuple(line.svgs[1] for line in report.lines.wide)) == set(range(len(report.notes)))
    text = report_page(report).decode()
    assert 'id="time"' not in text
    assert 'id="motifs"' not in text
    assert 'id="played"' in text
    assert all(len(note.cells) == len(report.columns) for note in report.notes)


def test_a_take_without_notes_is_a_report_too() -> None:
    """Silence: no lines, and it says so."""
    told, audio = reported_takes.reviewed_alone(reported_takes.Hearing(notes=(), length_s=2.0))
    report = report_content(told, audio * 0, name="Silence")
    assert "No notes were heard in this take" in report_page(report).decode()
    assert pages(report_pdf(report)) == 1


def pages(pdf: bytes) -> int:
    with pypdfium2.PdfDocument(pdf) as document:
        return len(document)


def test_the_sheet_is_one_page_whatever_the_take(report: ReportContent) -> None:
    """A short take, a long one with endless words, and one without a lesson; the same content gives the same bytes."""
    long_words = "Endless words about this take. " * 90
    long_report = lesson_report("x" * 400, rounds=5, remarks=(long_words,) * 4)
    wordy = replace(
        long_report,
        words=long_words,
        first=tuple(replace(one, said=long_words, try_next=long_words) for one in long_report.first * 3),
        facts=long_report.facts * 12,
    )
    for content in (report, long_report, wordy, free_report()):
        assert pages(report_pdf(content)) == 1
    assert report_pdf(report) == report_pdf(report)


def test_the_sheet_tells_first_things_first(report: ReportContent) -> None:
    """Findings, numbers and cautions are on it as text."""
    with pypdfium2.PdfDocument(report_pdf(report)) as document:
        words = " ".join(document[0].get_textpage().get_text_range().split())
    assert report.first
    assert all(one.said[:30] in words for one in report.first)
    assert all(caution[:30] in words for caution in report.cautions)
    assert "tempo: " in words


def test_an_envelope_is_the_loudest_of_each_step() -> None:
    """0..1 of the take's loudest, and silence is zero."""
    told, audio = reviewed()
    found = envelope_of(audio)
    first = told.hearing.notes[0].onset_s
    assert max(found.peaks) == 1.0
    assert found.between(0.0, first - 0.05) == 0.0
    assert found.between(first, first + 0.05) > 0.9
