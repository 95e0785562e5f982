"""The page as files: HTML from templates, style, scripts, the lesson's data and its sound.

The same content gives the same bytes. Text is escaped by the template engine; only checked SVG passes as markup.
"""

from __future__ import annotations

import json
from importlib import resources
from importlib.resources.abc import Traversable

from phrasewright.engrave.page.content import PageContent
from phrasewright.engrave.page.glyphs import share_glyphs
from phrasewright.engrave.page.pieces import piece_json
from phrasewright.engrave.page.sprites import metronome_json, sound_files
from phrasewright.engrave.page.templating import templates_of
from phrasewright.engrave.palette import palette_style
from phrasewright.score.model import PartRole

SCRIPTS = (
    "clock",
    "piece",
    "plan",
    "sound",
    "mixer",
    "transport",
    "memory",
    "light",
    "necks",
    "ruler",
    "desk",
    "controls",
    "keys",
    "page",
)  # in the order they need each other; the lesson's data comes before the last
PART_NAMES = {
    PartRole.LEAD.value: "Lead",
    PartRole.CHORDS.value: "Chords",
    PartRole.BASS.value: "Bass",
    PartRole.DRUMS.value: "Drums",
    "recording": "Recording",
    "click": "Click",
}


def render_page(content: PageContent) -> dict[str, bytes]:
    """All files of the page by relative path, ``index.html`` first. Raises ValueError on unsafe SVG."""
    files = {"index.html": _html(content), "assets/page.css": page_style()}
    files |= {f"assets/{name}.js": _static(f"{name}.js") for name in SCRIPTS}
    files["assets/lesson.js"] = _data(content)
    return files | sound_files(content.bank)


def _html(content: PageContent) -> bytes:
    template = templates_of("phrasewright.engrave.page").get_template("page.html")
    return share_glyphs(template.render(page=content, scripts=SCRIPTS, parts=PART_NAMES)).encode()


def page_style() -> bytes:
    """The look of every sheet on screen: the colours of both themes, then the rules."""
    return paper_style() + _static("page.css")


def paper_style() -> bytes:
    """What every sheet begins with: colours, letters, focus."""
    return palette_style().encode() + _static("paper.css")


def _data(content: PageContent) -> bytes:
    lesson = {
        "id": content.lesson_id,
        "rate": content.bank.sprites[PartRole.DRUMS].sample_rate_hz,
        "a4": content.a4_hz,
        "room": content.bank.impulse is not None,
        "start": content.first_piece.id if content.first_piece else "",
        "groups": [[name, [piece.id for piece in pieces]] for name, pieces in content.groups],
        "metronome": metronome_json(content.bank),
        "pieces": [piece_json(piece) for piece in content.pieces],
    }
    text = json.dumps(lesson, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    return f"window.Phrasewright = window.Phrasewright || {{}};\nPhrasewright.lesson = {text};\n".encode()


def _static(name: str) -> bytes:
    folder: Traversable = resources.files("phrasewright.engrave.page").joinpath("static")
    return folder.joinpath(name).read_bytes()
