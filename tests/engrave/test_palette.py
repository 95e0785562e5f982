"""Colours: contrast as promised, and figures that can be themed or written out."""

from __future__ import annotations

import pytest

from phrasewright.engrave.palette import DARK, LIGHT, Ink, Theme, contrast_ratio, css_variables, flatten, paint


@pytest.mark.parametrize(
    ("ink", "ratio"), [(Ink.INK, 13.8), (Ink.HELP, 7.2), (Ink.NOW, 6.1), (Ink.TARGET, 6.8)], ids=str
)
def test_light_inks_have_the_contrast_the_look_states(ink: Ink, ratio: float) -> None:
    assert contrast_ratio(LIGHT.colours[ink], LIGHT.colours[Ink.PAPER]) == pytest.approx(ratio, abs=0.06)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.id)
@pytest.mark.parametrize("ink", [Ink.INK, Ink.HELP, Ink.NOW, Ink.TARGET], ids=str)
def test_every_ink_that_writes_words_passes_on_its_paper(theme: Theme, ink: Ink) -> None:
    """WCAG 2.2, success criterion 1.4.3: text needs 4.5:1."""
    assert contrast_ratio(theme.colours[ink], theme.colours[Ink.PAPER]) >= 4.5


def test_contrast_of_black_on_white_is_21_and_of_a_colour_on_itself_1() -> None:
    """WCAG 2.2 definition of contrast ratio: 1 to 21."""
    assert contrast_ratio("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast_ratio("#a63d00", "#a63d00") == 1.0


def test_a_grey_agrees_with_the_published_limit() -> None:
    """#767676 is the lightest grey that passes 4.5:1 on white (WCAG techniques, commonly cited)."""
    assert contrast_ratio("#767676", "#ffffff") >= 4.5 > contrast_ratio("#777777", "#ffffff")


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.id)
def test_flatten_writes_the_colours_of_a_theme(theme: Theme) -> None:
    svg = "".join(f'<g fill="{paint(ink)}"/>' for ink in Ink)
    assert flatten(svg, theme) == "".join(f'<g fill="{theme.colours[ink]}"/>' for ink in Ink)


def test_flatten_refuses_a_variable_it_does_not_know() -> None:
    with pytest.raises(ValueError, match="--sky"):
        flatten('<g fill="var(--sky, #00f)"/>')


def test_a_style_sheet_declares_every_ink() -> None:
    assert css_variables(DARK).count("--") == len(Ink)
    assert "--now: #ff9e64;" in css_variables(DARK)


@pytest.mark.parametrize("colour", ["red", "#abc", "#GGGGGG"])
def test_other_spellings_of_colours_are_refused(colour: str) -> None:
    with pytest.raises(ValueError, match="not a colour"):
        contrast_ratio(colour, "#ffffff")
