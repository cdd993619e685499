"""Contrast as WCAG 2.2 defines it: relative luminance and contrast ratio, from its glossary; 7:1 is criterion 1.4.6."""

import pytest
from textual.color import Color
from textual.theme import Theme

from scalewright.terminal.themes import PAPER, SLATE

ENHANCED = 7.0
INK = ("foreground", "primary", "secondary", "accent", "success", "warning", "error")
GROUND = ("background", "surface")


def luminance(colour: str) -> float:
    def linear(channel: int) -> float:
        share = channel / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    red, green, blue = map(linear, Color.parse(colour).rgb)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_is_21_to_1() -> None:
    """WCAG 2.2, definition of contrast ratio: it ranges from 1 to 21."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("theme", [SLATE, PAPER], ids=lambda theme: theme.name)
@pytest.mark.parametrize("ink", INK)
@pytest.mark.parametrize("ground", GROUND)
def test_every_ink_is_readable_on_every_ground(theme: Theme, ink: str, ground: str) -> None:
    assert contrast(getattr(theme, ink), getattr(theme, ground)) >= ENHANCED


@pytest.mark.parametrize("theme", [SLATE, PAPER], ids=lambda theme: theme.name)
def test_the_chosen_line_is_readable(theme: Theme) -> None:
    chosen = theme.variables
    assert contrast(chosen["block-cursor-foreground"], chosen["block-cursor-background"]) >= ENHANCED
