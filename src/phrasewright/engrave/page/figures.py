"""SVG text that may stand inside the page: one ``<svg>`` element without script, foreign markup or outside links.

Figures come from our own engraver; the check keeps a slip there from becoming a hole here.
"""

from __future__ import annotations

import re

from lxml import etree
from markupsafe import Markup

_FORBIDDEN = {"script", "foreignObject", "iframe", "image", "animate", "set", "handler"}
_PROLOG = re.compile(r"\A\s*(<\?xml[^>]*\?>|<!DOCTYPE[^>\[]*>|<!--.*?-->|\s)*", re.DOTALL)
_OUTSIDE = re.compile(r"url\(\s*['\"]?(?!#|data:)|@import", re.IGNORECASE)
_SPOKEN = re.compile(r"<(title|desc)\b[^>]*>[^<]*</\1>")
_SPOKEN_FOR = re.compile(r'\s(?:role|aria-label|aria-labelledby)="[^"]*"')
_SIZE = re.compile(r'\s(?:width|height)="[^"]*"')


def inline_svg(svg: str) -> Markup:
    """An SVG file as an inline element that fills the width it is given. Raises ValueError on unsafe content.

    Its own title, description, role and label are left out: on the page the box around it speaks for it.
    """
    body = _PROLOG.sub("", svg, count=1).strip()
    root = _parse(body)
    if etree.QName(root).localname != "svg":
        raise ValueError(f"a figure must be an <svg> element, got <{etree.QName(root).localname}>")
    for element in root.iter(etree.Element):
        _check(element)
    body = _SPOKEN.sub("", body)
    if root.get("viewBox"):
        head, bracket, rest = body.partition(">")
        body = _SIZE.sub("", _SPOKEN_FOR.sub("", head)) + bracket + rest
    return Markup(body)


def view_width(svg: str) -> float:
    """Width of an SVG file's viewBox in its own units. Raises ValueError when it has none."""
    box = _parse(_PROLOG.sub("", svg, count=1).strip()).get("viewBox", "").replace(",", " ").split()
    if len(box) != 4:
        raise ValueError("a system needs a viewBox")
    return float(box[2])


def width_of(svg: str) -> str:
    """The width an SVG file asks for, e.g. ``120mm``; empty when it says none."""
    return _parse(_PROLOG.sub("", svg, count=1).strip()).get("width", "")


def _parse(body: str) -> etree._Element:
    try:
        return etree.fromstring(body.encode(), etree.XMLParser(resolve_entities=False, no_network=True))
    except etree.XMLSyntaxError as error:
        raise ValueError(f"a figure is not well-formed SVG: {error}") from None


def _check(element: etree._Element) -> None:
    name = etree.QName(element).localname
    if name in _FORBIDDEN:
        raise ValueError(f"a figure may not contain <{name}>")
    if name == "style" and _OUTSIDE.search(element.text or ""):
        raise ValueError("a figure's style may not link outside")
    for key, value in element.attrib.items():
        local = etree.QName(str(key)).localname
        if local.lower().startswith("on"):
            raise ValueError(f"a figure may not carry the handler {local}")
        if local in ("href", "src") and not str(value).startswith("#"):
            raise ValueError("a figure may not link outside")
        if _OUTSIDE.search(str(value)):
            raise ValueError("a figure may not refer outside")
