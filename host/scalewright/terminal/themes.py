"""Two calm looks: `slate` for dark rooms and `paper` for light ones.

What is good is blue and what is bad is orange, which colour-blind eyes tell apart; beside each there stands a word.
Text has a contrast of 7:1 or more against its ground (WCAG 2.2, success criterion 1.4.6); a test holds it.
"""

from textual.theme import Theme

SLATE = Theme(
    name="slate",
    dark=True,
    background="#10161b",
    surface="#182128",
    panel="#22303a",
    foreground="#e8ecee",
    primary="#8cc7d2",
    secondary="#a9b7c0",
    accent="#f0c674",
    success="#8ec5ff",
    warning="#f0c674",
    error="#ffa273",
    variables={
        "footer-background": "#10161b",
        "footer-description-foreground": "#a9b7c0",
        "footer-key-foreground": "#f0c674",
        "block-cursor-text-style": "bold",
        "block-cursor-background": "#8cc7d2",
        "block-cursor-foreground": "#10161b",
        "border": "#4a6170",
        "border-blurred": "#33454f",
    },
)
PAPER = Theme(
    name="paper",
    dark=False,
    background="#fbfaf6",
    surface="#f3f1ea",
    panel="#e6e2d6",
    foreground="#1b2126",
    primary="#0b4f5c",
    secondary="#46525a",
    accent="#6b4300",
    success="#0a4788",
    warning="#6b4300",
    error="#8a2f00",
    variables={
        "footer-background": "#fbfaf6",
        "footer-description-foreground": "#46525a",
        "footer-key-foreground": "#6b4300",
        "block-cursor-text-style": "bold",
        "block-cursor-background": "#0b4f5c",
        "block-cursor-foreground": "#fbfaf6",
        "border": "#8a979e",
        "border-blurred": "#b9c1c5",
    },
)
