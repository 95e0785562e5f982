"""One shorthand for building XML without namespaces."""

from __future__ import annotations

from lxml import etree


def child(parent: etree._Element, name: str, text: str | None = None, /, **attributes: str) -> etree._Element:
    """Append an element with text and attributes; underscores in attribute names stand for hyphens."""
    element = etree.SubElement(parent, name, {key.replace("_", "-"): value for key, value in attributes.items()})
    element.text = text
    return element
