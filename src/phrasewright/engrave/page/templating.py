"""The template engine of everything shown in a browser: words are escaped, only checked SVG passes as markup."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined

from phrasewright.engrave.page.figures import inline_svg, view_width, width_of


@cache
def templates_of(package: str) -> Environment:
    """The templates in a package's folder ``templates``."""
    environment = Environment(
        loader=PackageLoader(package, "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["inline"] = inline_svg
    environment.filters["svgwidth"] = width_of
    environment.filters["viewwidth"] = view_width
    return environment
