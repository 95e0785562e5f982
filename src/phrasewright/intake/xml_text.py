"""XML from strangers: no entities, no network, no DTD, no huge trees."""

from __future__ import annotations

from lxml import etree

from phrasewright.errors import NoteFileError, Problem


def line_of(element: etree._Element) -> int | None:
    """The line of the file where an element begins."""
    line: object = element.sourceline
    return line if isinstance(line, int) else None


def parsed(content: bytes, file: str) -> etree._Element:
    """The root element. Raises NoteFileError with the line of what is wrong."""
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, dtd_validation=False, huge_tree=False
    )
    try:
        return etree.fromstring(content, parser)
    except etree.XMLSyntaxError as error:
        raise NoteFileError(
            file,
            Problem(
                what=f"this is no whole XML file ({error.msg})", hint="Export it again as MusicXML.", line=error.lineno
            ),
        ) from error
