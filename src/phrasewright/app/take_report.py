"""The report on a take: its review as a page that plays it and as one printed sheet."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING

import numpy as np

from phrasewright import __version__
from phrasewright.app.figures import NARROW_BARS, NARROW_MM, WIDE_MM
from phrasewright.app.review import Review
from phrasewright.app.take_lines import Sheet, bar_lines, bar_seconds, free_lines, pitch_lines
from phrasewright.app.take_marks import columns_of, marks_of, note_views
from phrasewright.app.take_sections import (
    facts_of,
    finding_view,
    motif_section,
    sign_views,
    timing_section,
)
from phrasewright.engrave.page.content import USUAL_CAUTIONS
from phrasewright.engrave.palette import flatten
from phrasewright.engrave.report.content import ReportContent
from phrasewright.engrave.report.pdf import Printed, PrintedFinding, report_pdf
from phrasewright.engrave.take.wave_row import Envelope
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.sound.encode import small_mp3_bytes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]

WIDE = Sheet(name="wide", width_mm=WIDE_MM, seconds=12.0, bars=None)
NARROW = Sheet(name="narrow", width_mm=NARROW_MM, seconds=6.0, bars=NARROW_BARS)
ENVELOPE_S = 0.01
_PITCH = "Every note's own pitch is inked, as high and as long as it sounded; fine rules are {rules}."
_MEANT = " Grey bars are what was written."


def report_content(review: Review, audio: FloatArray, title: str) -> ReportContent:
    """All that a report shows. audio: the take as it was recorded, float32 (n,) at the listener's rate."""
    marks, in_bars, envelope = marks_of(review), review.in_bars, envelope_of(audio)
    if in_bars is None:
        wide, narrow = (free_lines(review, marks, envelope, sheet) for sheet in (WIDE, NARROW))
    else:
        wide, narrow = (bar_lines(review, in_bars, marks, envelope, sheet) for sheet in (WIDE, NARROW))
    lesson = None if in_bars is None else in_bars.assignment.plan.lesson
    rules = "C and F" if in_bars is None else "the notes of the scale"
    meant = "" if in_bars is None or in_bars.written is None else _MEANT
    first = () if in_bars is None else in_bars.first
    rest = () if in_bars is None else tuple(one for one in in_bars.findings if one not in first)
    return ReportContent(
        title=title,
        school="" if lesson is None else lesson.school,
        lesson="" if in_bars is None else in_bars.assignment.title,
        words="" if in_bars is None else in_bars.words,
        remarks=review.remarks,
        first=tuple(map(finding_view, first)),
        more=tuple(map(finding_view, rest)),
        facts=tuple(facts_of(review)),
        signs=() if in_bars is None else sign_views(),
        wide=wide,
        narrow=narrow,
        pitch_wide=pitch_lines(review, marks, WIDE),
        pitch_narrow=pitch_lines(review, marks, NARROW),
        pitch_words=_PITCH.format(rules=rules) + meant,
        timing=None if in_bars is None else timing_section(review, in_bars, marks),
        motifs=None if in_bars is None else motif_section(review, in_bars),
        columns=columns_of(review),
        notes=tuple(note_views(review, marks)),
        bars=bar_seconds(review),
        length_s=len(audio) / RATE_HZ,
        audio=sound_address(audio),
        cautions=USUAL_CAUTIONS,
        stamp=f"Made with Phrasewright {__version__}",
    )


def printed_report(content: ReportContent) -> bytes:
    """The report as one printed sheet."""
    figures = [(one.figure.printed, one.figure.alt) for one in (content.timing, content.motifs) if one is not None]
    return report_pdf(
        Printed(
            title=content.title,
            under=" · ".join(word for word in (content.lesson, content.school) if word),
            words=content.words,
            findings=tuple(
                PrintedFinding(said=one.said, try_next=one.try_next, beside=_beside(one.where, one.sure))
                for one in content.first
            ),
            remarks=content.remarks,
            facts=content.facts,
            figures=tuple((flatten(svg), alt) for svg, alt in figures),
            lines=tuple((flatten(line.svgs[-1]), line.alt) for line in content.wide),
            cautions=content.cautions,
            stamp=content.stamp,
        )
    )


def _beside(where: str, sure: str) -> str:
    return f"{where.capitalize()}. {sure}" if where else sure


def envelope_of(audio: FloatArray) -> Envelope:
    """How loud the take is, every hundredth of a second."""
    each = round(ENVELOPE_S * RATE_HZ)
    padded = np.pad(np.abs(audio), (0, -len(audio) % each))
    peaks = padded.reshape(-1, each).max(axis=1)
    loudest = float(peaks.max(initial=0.0)) or 1.0
    return Envelope(step_s=ENVELOPE_S, peaks=tuple(round(float(peak) / loudest, 3) for peak in peaks))


def sound_address(audio: FloatArray) -> str:
    """The take's sound as an address that needs no file."""
    return "data:audio/mpeg;base64," + base64.b64encode(small_mp3_bytes(audio, RATE_HZ)).decode("ascii")
