"""Music glyphs and letters, once for a whole page.

Every figure stands alone and brings the outlines it uses. On a page dozens of them would repeat the same clef; here
each distinct outline is kept once, in a hidden drawing at the end, and every use refers to it. Works from disk: all
references stay inside the page.
"""

from __future__ import annotations

import re

_DEFINITIONS = re.compile(r"<defs>(.*?)</defs>", re.DOTALL)
_GLYPH = re.compile(r'<(g|path) id="([\w-]+)"([^>]*?)(?:/>|>(.*?)</\1>)', re.DOTALL)
_LETTER = re.compile(r'<path d="([^"]{80,})" transform="([^"]*)"/>')  # an outline long enough to be worth a name
_USE = re.compile(r'href="#([\w-]+)"')
_SPACE = re.compile(r">\s+<")


def share_glyphs(html: str) -> str:
    """Move glyphs in the page's ``<defs>``, and letters drawn in place, to one list before ``</body>``.

    html: a page whose text is escaped, so that ``<defs>`` can only be markup; glyphs are ``g`` or ``path`` with an id,
    letters a ``path`` with an outline and a transform only.
    """
    names: dict[str, str] = {}  # an outline -> its name
    shared: dict[str, str] = {}  # a name in a figure -> the name of the same outline

    def take(found: re.Match[str]) -> str:
        for glyph in _GLYPH.finditer(found[1]):
            element, own, attributes, inside = glyph.groups()
            outline = f"{element}|{attributes.strip()}|{_SPACE.sub('><', (inside or '').strip())}"
            shared[own] = names.setdefault(outline, f"glyph-{len(names)}")
        rest = _GLYPH.sub("", found[1]).strip()
        return f"<defs>{rest}</defs>" if rest else ""

    def refer(letter: re.Match[str]) -> str:
        name = names.setdefault(f'path|d="{letter[1]}"|', f"glyph-{len(names)}")
        return f'<use href="#{name}" transform="{letter[2]}"/>'

    body = _LETTER.sub(refer, _DEFINITIONS.sub(take, html))
    if not names:
        return html
    body = _USE.sub(lambda use: f'href="#{shared.get(use[1], use[1])}"', body)
    drawing = "".join(_definition(name, outline) for outline, name in names.items())
    hidden = f'<svg class="glyphs" aria-hidden="true" width="0" height="0"><defs>{drawing}</defs></svg>\n'
    return body.replace("</body>", f"{hidden}</body>")


def _definition(name: str, outline: str) -> str:
    element, attributes, inside = outline.split("|", 2)
    head = f'<{element} id="{name}"' + (f" {attributes}" if attributes else "")
    return f"{head}>{inside}</{element}>" if inside else f"{head}/>"
