"""A form over a screen: it stays, with everything typed, until what was typed is kept or the person goes back."""

from collections.abc import Awaitable, Callable, Mapping, Sequence
from typing import ClassVar, NamedTuple

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from scalewright.errors import ScalewrightError

Keep = Callable[[Mapping[str, str]], Awaitable[str]]
"""Keeps what was typed and returns what to say then. Raises ScalewrightError, and nothing is lost."""


class Cell(NamedTuple):
    """One line of a form."""

    name: str
    words: str
    value: str = ""
    hint: str = ""


class FormScreen(ModalScreen[str | None]):
    """Ends in what `keep` returned; None where the person went back. first: the field to begin in."""

    CSS_PATH = "over.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "dismiss(None)", "Back"),
        # At once, before the next key: whoever types quickly, or a bar code reader, must not overrun the fields.
        Binding("ctrl+s", "keep", "Keep it", priority=True),
        Binding("enter", "next", "Next", priority=True),
        Binding("down", "app.focus_next", "Next", priority=True),
        Binding("up", "app.focus_previous", "Previous", priority=True),
    ]

    def __init__(self, title: str, cells: Sequence[Cell], keep: Keep, first: str = "") -> None:
        super().__init__()
        self._title, self._cells, self._keep = title, cells, keep
        self._first = first or cells[0].name

    def compose(self) -> ComposeResult:
        """The title, a line a field, what was wrong, and the keys."""
        with Vertical(classes="sheet"):
            yield Static(self._title, classes="words", markup=False)
            with VerticalScroll(can_focus=False), Grid(classes="cells"):
                for cell in self._cells:
                    yield Static(cell.words, markup=False)
                    yield Input(cell.value, placeholder=cell.hint, id=f"cell-{cell.name}", compact=True)
            yield Static(id="wrong")
            yield Static("Enter: next field   Ctrl+S: keep it   Escape: back", classes="quiet")

    def on_mount(self) -> None:
        """Begin where there is something to type."""
        self.query_one(f"#cell-{self._first}").focus()

    def action_next(self) -> None:
        """Go on to the next field; from the last one, keep it."""
        if self.focused is not None and self.focused.id == f"cell-{self._cells[-1].name}":
            self.action_keep()
        else:
            self.focus_next()

    def action_keep(self) -> None:
        """Have it kept."""
        self._keep_typed()

    @work(exclusive=True)
    async def _keep_typed(self) -> None:
        typed = {cell.name: self.query_one(f"#cell-{cell.name}", Input).value.strip() for cell in self._cells}
        try:
            self.dismiss(await self._keep(typed))
        except ScalewrightError as error:
            why = Content.from_markup("[bold $error]Not kept:[/] $why", why=str(error))
            self.query_one("#wrong", Static).update(why)
