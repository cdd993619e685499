"""The help of a screen: what it is for, and its keys."""

from collections.abc import Iterable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import ActiveBinding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from scalewright.terminal.screens import SCREENS

EVERYWHERE = (
    "On every screen: the numbers at the top go from one screen to the next, Tab from field to field, Escape leaves "
    "a field, Ctrl+P finds any command by name, F3 changes between dark and light. Nothing that was accepted is ever "
    "lost by leaving."
)


class HelpScreen(ModalScreen[None]):
    """Lies over the screen it explains until a key is pressed."""

    CSS_PATH = "over.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [("escape,f1,question_mark,enter,q", "dismiss", "Back")]

    def __init__(self, name: str, text: str, bindings: Iterable[ActiveBinding]) -> None:
        super().__init__()
        self._title = SCREENS[name].title
        self._text = text
        self._shown = list(bindings)

    def compose(self) -> ComposeResult:
        """A box with the text; it scrolls where the terminal is small."""
        with VerticalScroll(id="help") as box:
            box.border_title = f"{self._title}: help"
            box.border_subtitle = "Escape: back"
            yield Static("\n".join([self._text.strip(), "", *self._keys(), "", EVERYWHERE]), markup=False)

    def _keys(self) -> list[str]:
        shown = {(self.app.get_key_display(b.binding), b.binding.description) for b in self._shown if b.binding.show}
        width = max((len(key) for key, _ in shown), default=0)
        return [f"{key:>{width + 2}}  {description}" for key, description in sorted(shown, key=lambda one: one[1])]
