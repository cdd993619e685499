"""A text that lies over a screen until a key is pressed."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static


class TextScreen(ModalScreen[None]):
    """Shows it; it scrolls where the terminal is small."""

    CSS_PATH = "over.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [("escape,enter,q", "dismiss", "Back")]

    def __init__(self, title: str, text: Content) -> None:
        super().__init__()
        self._title, self._text = title, text

    def compose(self) -> ComposeResult:
        """A box with the text."""
        with VerticalScroll(classes="page") as box:
            box.border_title, box.border_subtitle = self._title, "Escape: back"
            yield Static(self._text)
