"""The sheet as PDF: data and pictures go to typst as JSON, the layout stands in ``handout.typ``.

Deterministic: no date in the document, our own font folder, system fonts ignored, unless the words have letters that
none of our fonts can draw (Chinese, Japanese, emoji ...): then the fonts of the machine help out. PDFs are tagged, so
that a screen reader finds headings and the text of each figure.
"""

from __future__ import annotations

import json
import re
from dataclasses import asdict
from importlib import resources
from pathlib import Path

import typst

from phrasewright.engrave.handout.sheet import Paper, Sheet

COLUMN_MM = 152.0  # width of the main column on both papers; systems are engraved to it


_BEYOND = re.compile(r"[\u0900-\u1cff\u2e80-\ud7ff\uf900-\ufaff\U00010000-\U0003ffff]")  # from the fonts' coverage


def needs_system_fonts(words: str) -> bool:
    """True when words have letters beyond the fonts we bring: other than Latin, Greek, Cyrillic, Hebrew and Arabic."""
    return _BEYOND.search(words) is not None


def handout_pdf(sheet: Sheet, paper: Paper) -> bytes:
    """Lay out a sheet. Returns the bytes of a tagged PDF; the same sheet gives the same bytes."""
    source = resources.files("phrasewright.engrave.handout").joinpath("handout.typ").read_bytes()
    fonts = Path(str(resources.files("phrasewright.engrave"))) / "fonts"
    data = json.dumps(asdict(sheet) | {"paper": paper.value, "column_mm": COLUMN_MM}, ensure_ascii=False)
    pdf = typst.compile(
        source,
        font_paths=typst.Fonts(
            include_system_fonts=needs_system_fonts(f"{sheet.title} {sheet.school} {sheet.teacher} {sheet.paragraphs}"),
            include_embedded_fonts=True,
            font_paths=[fonts],
        ),
        sys_inputs={"sheet": data},
        format="pdf",
    )
    if not isinstance(pdf, bytes):
        raise TypeError("typst returned pages instead of one document")
    return pdf
