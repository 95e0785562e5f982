"""The sheet as PDF: data and pictures go to typst as JSON, the layout stands in ``handout.typ``.

Deterministic: no date in the document, our own font folder, system fonts ignored. PDFs are tagged, so that a
screen reader finds headings and the text of each figure.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from importlib import resources
from pathlib import Path

import typst

from phrasewright.engrave.handout.sheet import Paper, Sheet

COLUMN_MM = 152.0  # width of the main column on both papers; systems are engraved to it


def handout_pdf(sheet: Sheet, paper: Paper) -> bytes:
    """Lay out a sheet. Returns the bytes of a tagged PDF; the same sheet gives the same bytes."""
    source = resources.files("phrasewright.engrave.handout").joinpath("handout.typ").read_bytes()
    fonts = Path(str(resources.files("phrasewright.engrave"))) / "fonts"
    data = json.dumps(asdict(sheet) | {"paper": paper.value, "column_mm": COLUMN_MM}, ensure_ascii=False)
    pdf = typst.compile(
        source,
        font_paths=typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[fonts]),
        sys_inputs={"sheet": data},
        format="pdf",
    )
    if not isinstance(pdf, bytes):
        raise TypeError("typst returned pages instead of one document")
    return pdf
