"""The report as one printed A4 sheet: data and pictures go to typst as JSON, the layout stands in ``report.typ``.

There is one page whatever the take: what does not fit is left to the page on screen. Fonts and determinism are the
handout's.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from importlib import resources

from phrasewright.engrave.handout.pdf import compiled, needs_system_fonts

MOST_LINES = 8  # of what was played that are handed to the printer; no page has room for more


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedFinding:
    """One finding. beside: its place and how sure it is."""

    said: str
    try_next: str
    beside: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """All that may stand on the sheet, what matters most first.

    figures, lines: SVG in literal colours with what it shows; lines: of what was played.
    """

    title: str
    under: str
    words: str
    findings: tuple[PrintedFinding, ...]
    remarks: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    figures: tuple[tuple[str, str], ...]
    lines: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    stamp: str


def report_pdf(printed: Printed) -> bytes:
    """Lay out the sheet. Returns the bytes of a tagged PDF; the same content gives the same bytes."""
    source = resources.files("phrasewright.engrave.report").joinpath("report.typ").read_bytes()
    known = asdict(printed) | {"lines": printed.lines[:MOST_LINES]}
    words = f"{printed.title} {printed.under}"
    return compiled(source, json.dumps(known, ensure_ascii=False), system_fonts=needs_system_fonts(words))
