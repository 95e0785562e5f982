"""Rebuild ``engrave/fonts/outlines.json``: letters as outlines, so that a figure needs no font installed.

Usage: python tools/text_outlines.py FOLDER [OUTPUT]

FOLDER holds the woff files of the family Tinos (SIL Open Font License 1.1; npm package ``@fontsource/tinos``, folder
``files``). Accidentals are those of the music font Leipzig (SIL OFL 1.1) in the installed verovio. Needs fonttools.

The file maps style -> character -> [advance, path]; units are 2048 per em, y grows downwards, 0 is the baseline.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import verovio
from fontTools.misc.transform import Transform
from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.svgLib.path import parse_path
from fontTools.ttLib import TTFont
from lxml import etree

STYLES = {"regular": "400-normal", "italic": "400-italic", "bold": "700-normal"}
CHARACTERS = [*map(chr, range(0x20, 0x7F)), *map(chr, range(0xA1, 0x180)), *"–—‘’“”„•…′″−"]
EM = 2048
# sign -> (glyph of the music font, scale, shift right, shift down, advance); chosen by eye beside capitals
ACCIDENTALS = {
    "♯": ("E262", 2.3, 60, -660, 570),
    "♭": ("E260", 2.75, 50, -440, 600),
    "♮": ("E261", 2.3, 60, -660, 480),
    "𝄪": ("E263", 2.5, 50, -620, 740),
    "𝄫": ("E264", 2.75, 50, -440, 1110),
}


def _letters(folder: Path, style: str) -> dict[str, list[object]]:
    found: dict[str, list[object]] = {}
    for subset in ("latin-ext", "latin"):
        font = TTFont(folder / f"tinos-{subset}-{STYLES[style]}.woff")
        names, glyphs = font.getBestCmap(), font.getGlyphSet()
        for character in CHARACTERS:
            if ord(character) in names:
                glyph = glyphs[names[ord(character)]]
                pen = SVGPathPen(glyphs, ntos=lambda value: str(round(value)))
                glyph.draw(TransformPen(pen, Transform(1, 0, 0, -1, 0, 0)))
                found[character] = [round(glyph.width), pen.getCommands()]
    return found


def _accidentals() -> dict[str, list[object]]:
    folder = Path(verovio.__file__).parent / "data" / "Leipzig"
    found: dict[str, list[object]] = {}
    for sign, (code, scale, right, down, advance) in ACCIDENTALS.items():
        drawn = etree.parse(folder / f"{code}.xml").find("path")
        pen = SVGPathPen(None, ntos=lambda value: str(round(value)))
        parse_path(drawn.get("d"), TransformPen(pen, Transform(scale, 0, 0, -scale, right, down)))
        found[sign] = [advance, pen.getCommands()]
    return found


def main() -> None:
    """Write the file."""
    folder = Path(sys.argv[1])
    default = Path(__file__).parents[1] / "src/phrasewright/engrave/fonts/outlines.json"
    output = Path(sys.argv[2]) if len(sys.argv) > 2 else default
    table = {style: dict(sorted((_letters(folder, style) | _accidentals()).items())) for style in STYLES}
    output.write_text(json.dumps(table, ensure_ascii=False, separators=(",", ":")) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
