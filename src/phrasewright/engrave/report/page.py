"""The report as one HTML file that needs nothing beside it: style, script, figures and sound are inside.

The same content gives the same bytes. Text is escaped by the template engine; only checked SVG passes as markup.
"""

from __future__ import annotations

import json
from base64 import b64encode
from importlib import resources

from markupsafe import Markup

from phrasewright.engrave.page.glyphs import share_glyphs
from phrasewright.engrave.page.render import page_style
from phrasewright.engrave.page.templating import templates_of
from phrasewright.engrave.report.content import ReportContent

END = b"</script>"
SOUND = b'<script type="text/plain" id="sound">' + END  # words of the page cannot look like it: they are escaped


def report_page(content: ReportContent) -> bytes:
    """The whole file. Raises ValueError on unsafe SVG."""
    template = templates_of("phrasewright.engrave.report").get_template("report.html")
    page = template.render(
        report=content,
        points=_points,
        style=Markup(page_style().decode() + _static("report.css")),
        script=Markup(_static("report.js")),
        data=Markup(_data(content)),
    )
    head, tail = share_glyphs(page).encode().split(SOUND)  # written in last: the sound is most of the page
    return b"".join((head, SOUND.removesuffix(END), b64encode(content.flac), END, tail))


def _points(points: tuple[tuple[float, float], ...]) -> str:
    return json.dumps([[round(second, 3), round(share, 2)] for second, share in points], separators=(",", ":"))


def _data(content: ReportContent) -> str:
    """What the script needs to know, safe inside a script element."""
    known = {
        "notes": [[round(note.onset_s, 3), round(note.offset_s, 3), note.words] for note in content.notes],
        "length": round(content.length_s, 3),
    }
    return json.dumps(known, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")


def _static(name: str) -> str:
    return resources.files("phrasewright.engrave.report").joinpath("static").joinpath(name).read_text(encoding="utf-8")
