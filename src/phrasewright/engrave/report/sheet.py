"""The report as one printed page: values to typst as JSON, the layout stands in ``report.typ``.

Deterministic as the handout is. What does not fit on the page is left out, the last first.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import typst

from phrasewright.engrave.handout.pdf import needs_system_fonts
from phrasewright.engrave.handout.sheet import Paper
from phrasewright.engrave.palette import flatten
from phrasewright.engrave.report.content import FindingView, ReportContent

MOST_LINES = 8  # of music: more than a page has room for


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Figures under a title. rows: figures that belong together, one under the other, and what they show."""

    title: str
    rows: tuple[tuple[tuple[str, ...], str], ...]


def report_pdf(content: ReportContent, paper: Paper = Paper.A4) -> bytes:
    """The bytes of a tagged PDF of one page."""
    source = resources.files("phrasewright.engrave.report").joinpath("report.typ").read_bytes()
    fonts = Path(str(resources.files("phrasewright.engrave"))) / "fonts"
    pdf = typst.compile(
        source,
        font_paths=typst.Fonts(
            include_system_fonts=needs_system_fonts(f"{content.title} {content.school} {content.lesson}"),
            include_embedded_fonts=True,
            font_paths=[fonts],
        ),
        sys_inputs={"sheet": json.dumps(_data(content, paper), ensure_ascii=False)},
        format="pdf",
    )
    if not isinstance(pdf, bytes):
        raise TypeError("typst returned pages instead of one document")
    return pdf


def _data(content: ReportContent, paper: Paper) -> dict[str, object]:
    return {
        "paper": paper.value,
        "title": content.title,
        "school": content.school,
        "lesson": content.lesson,
        "words": content.words,
        "first": [_finding(one) for one in content.first],
        "remarks": content.remarks,
        "facts": content.facts,
        "sections": [
            {
                "title": section.title,
                "rows": [{"svgs": [flatten(svg) for svg in svgs], "alt": alt} for svgs, alt in section.rows],
            }
            for section in _sections(content)
        ],
        "cautions": content.cautions,
        "stamp": content.stamp,
    }


def _finding(one: FindingView) -> dict[str, str]:
    heading = " · ".join(part for part in (one.topic.capitalize(), one.where, one.sure.rstrip(".").lower()) if part)
    return {"heading": heading, "said": one.said, "try_next": one.try_next}


def _sections(content: ReportContent) -> list[Section]:
    sections = []
    for title, figure in (("In time", content.timing), ("Motifs", content.motifs)):
        if figure is not None:
            sections.append(Section(title=title, rows=(((figure.sheet,), figure.alt),)))
    if content.lines.wide:
        rows = tuple(
            (line.svgs[-1:], line.alt) for line in content.lines.wide[:MOST_LINES]
        )  # without waves: more of it fits
        sections.append(Section(title="What was played", rows=rows))
    return sections
