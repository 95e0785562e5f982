"""The colours of paper and ink, light and dark, as data.

Figures name a colour by its role, ``var(--ink, #1b2a41)``, so a page can theme them; ``flatten`` writes the
colours out for readers that know no CSS variables (print, mail, slides). No colour speaks alone: whatever a
colour says is also said by shape or by word. Contrast follows WCAG 2.2, success criterion 1.4.3.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

_VARIABLE = re.compile(r"var\(--([a-z-]+)(?:,\s*([^()]*))?\)")


class Ink(StrEnum):
    """What a colour is for; also the name of its CSS custom property."""

    PAPER = "paper"
    INK = "ink"
    RULE = "rule"  # lines that carry no meaning of their own
    HELP = "help"  # second ink, for words that help
    NOW = "now"  # sounding now
    TARGET = "target"  # notes to aim at


@dataclass(frozen=True, slots=True, kw_only=True)
class Theme:
    """A full set of colours, each ``#rrggbb``."""

    id: str
    colours: Mapping[Ink, str]


LIGHT = Theme(
    id="light",
    colours={
        Ink.PAPER: "#fbfaf6",
        Ink.INK: "#1b2a41",
        Ink.RULE: "#c9c4b8",
        Ink.HELP: "#4a5568",
        Ink.NOW: "#a63d00",
        Ink.TARGET: "#14625e",
    },
)
DARK = Theme(
    id="dark",
    colours={
        Ink.PAPER: "#14181f",
        Ink.INK: "#e9e4d8",
        Ink.RULE: "#434a57",
        Ink.HELP: "#aab2c0",
        Ink.NOW: "#ff9e64",
        Ink.TARGET: "#6fcfc4",
    },
)


def paint(ink: Ink) -> str:
    """The value of a ``fill`` or ``stroke``: a CSS variable that falls back to the light theme."""
    return f"var(--{ink}, {LIGHT.colours[ink]})"


def css_variables(theme: Theme) -> str:
    """Declarations for a style sheet: ``--paper: #fbfaf6; --ink: ...``."""
    return " ".join(f"--{ink}: {theme.colours[ink]};" for ink in Ink)


def palette_style() -> str:
    """A style sheet that sets the colours of both themes and nothing else."""
    return (
        f":root {{ color-scheme: light dark; {css_variables(LIGHT)} }}\n"
        f"@media screen and (prefers-color-scheme: dark) {{ :root {{ {css_variables(DARK)} }} }}\n"
    )


def flatten(svg: str, theme: Theme = LIGHT) -> str:
    """Write a theme's colours in place of the variables. Raises ValueError on a variable no theme knows."""

    def literal(match: re.Match[str]) -> str:
        try:
            return theme.colours[Ink(match[1])]
        except ValueError:
            raise ValueError(f"no colour is called --{match[1]}") from None

    return _VARIABLE.sub(literal, svg)


def luminance(colour: str) -> float:
    """Relative luminance 0..1 of ``#rrggbb`` (WCAG 2.2)."""
    if not re.fullmatch(r"#[0-9a-f]{6}", colour):
        raise ValueError(f"not a colour: {colour!r}")
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255.0) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast_ratio(first: str, second: str) -> float:
    """Contrast of two colours, 1..21 (WCAG 2.2)."""
    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else float(((channel + 0.055) / 1.055) ** 2.4)
