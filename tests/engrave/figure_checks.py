"""What holds for every figure: well-formed, described, unique ids, nothing off the paper, no word on a word."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from lxml import etree

from phrasewright.engrave.lettering import TEXT_MM
from phrasewright.engrave.palette import LIGHT, flatten
from phrasewright.engrave.svg import UNITS_PER_MM, Box

SVG = "{http://www.w3.org/2000/svg}"


def read(svg: str) -> etree._Element:
    return etree.fromstring(svg.encode())


def check_figure(svg: str, id_prefix: str) -> etree._Element:
    """Check the frame of a figure and return its root."""
    root = read(svg)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert all(name == id_prefix or name.startswith(f"{id_prefix}-") for name in ids)
    for kind, name in zip(("title", "desc"), root.get("aria-labelledby", "").split(), strict=True):
        (element,) = root.findall(f"{SVG}{kind}")
        assert element.get("id") == name
        assert (element.text or "").strip()
    width, height = (float(root.get(side, "").removesuffix("mm")) for side in ("width", "height"))
    view = [float(word) for word in root.get("viewBox", "").split()]
    assert view[:2] == [0.0, 0.0]
    assert abs(view[2] - UNITS_PER_MM * width) < 1.0
    assert abs(view[3] - UNITS_PER_MM * height) < 1.0
    check_inside(root, view[2], view[3])
    sizes = [float(element.get("font-size", "0")) for element in root.iter(f"{SVG}text")]
    assert all(size >= UNITS_PER_MM * TEXT_MM for size in sizes)
    assert "var(" not in flatten(svg, LIGHT)
    return root


def check_inside(root: etree._Element, width: float, height: float) -> None:
    for element in root.iter(f"{SVG}circle"):
        if "halo" in element.get("class", ""):
            continue
        x, y, r = (float(element.get(name, "0")) for name in ("cx", "cy", "r"))
        assert r <= x <= width - r, element.attrib
        assert r <= y <= height - r, element.attrib
    for element in root.iter(f"{SVG}line"):
        assert all(-0.01 <= float(element.get(name, "0")) <= width + 0.01 for name in ("x1", "x2"))
        assert all(-0.01 <= float(element.get(name, "0")) <= height + 0.01 for name in ("y1", "y2"))
    for element in root.iter(f"{SVG}text"):
        assert 0.0 <= float(element.get("x", "0")) <= width
        assert 0.0 <= float(element.get("y", "0")) <= height


def check_apart(boxes: Sequence[Box]) -> None:
    for first, second in combinations(boxes, 2):
        assert not first.overlaps(second), (first, second)


def all_with(root: etree._Element, attribute: str) -> list[etree._Element]:
    return [element for element in root.iter() if element.get(attribute) is not None]


def has_class(element: etree._Element, name: str) -> bool:
    return name in element.get("class", "").split()
