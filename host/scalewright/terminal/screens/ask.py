"""Two questions that lie over a screen: a value to type, and one thing out of many."""

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option


class AskScreen(ModalScreen[str | None]):
    """Ends in what was typed; None where the person went back."""

    CSS_PATH = "over.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss(None)", "Back")]

    def __init__(self, question: str, hint: str = "", value: str = "") -> None:
        super().__init__()
        self._question, self._hint, self._value = question, hint, value

    def compose(self) -> ComposeResult:
        """The question, a field, and how to go back."""
        with Vertical(classes="question"):
            yield Static(self._question, classes="words", markup=False)
            yield Input(self._value, placeholder=self._hint, compact=True)
            yield Static("Enter: take it     Escape: back", classes="quiet")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take what was typed; nothing is no answer."""
        self.dismiss(event.value.strip() or None)


class ChooseScreen(ModalScreen[int | None]):
    """Ends in the number of the line that was chosen; what is typed narrows the lines down. None: went back."""

    CSS_PATH = "over.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "dismiss(None)", "Back"),
        ("down", "move(1)", "Next"),
        ("up", "move(-1)", "Previous"),
    ]

    def __init__(self, question: str, lines: Sequence[str]) -> None:
        super().__init__()
        self._question, self._lines = question, lines

    def compose(self) -> ComposeResult:
        """The question, a field to narrow down with, and the lines."""
        with Vertical(classes="question"):
            yield Static(self._question, classes="words", markup=False)
            yield Input(placeholder="type a part of the name", compact=True)
            yield OptionList(compact=True, markup=False)
            yield Static("Enter: take it     Escape: back", classes="quiet")

    def on_mount(self) -> None:
        """Show all lines."""
        self._narrow("")

    def on_input_changed(self, event: Input.Changed) -> None:
        """Leave the lines that hold what was typed."""
        self._narrow(event.value)

    def _narrow(self, part: str) -> None:
        listed = self.query_one(OptionList)
        listed.clear_options()
        found = [(k, line) for k, line in enumerate(self._lines) if part.casefold() in line.casefold()]
        listed.add_options(Option(line, id=str(k)) for k, line in found)
        listed.highlighted = 0 if found else None

    def action_move(self, lines: int) -> None:
        """Go up or down the list without leaving the field."""
        listed = self.query_one(OptionList)
        if listed.highlighted is not None:
            listed.highlighted = min(max(listed.highlighted + lines, 0), listed.option_count - 1)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take the line that is highlighted."""
        self.query_one(OptionList).action_select()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Take this line."""
        assert event.option.id is not None
        self.dismiss(int(event.option.id))
