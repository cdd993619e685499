"""What Records, Masses, Scales and Drift share: a list out of the journal, and what is known of the line one is on."""

import asyncio
from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, ClassVar, NamedTuple, TypeVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option
from textual.worker import Worker

from scalewright.errors import ScalewrightError
from scalewright.terminal.bench import Bench
from scalewright.terminal.open_records import are_there, with_journal
from scalewright.terminal.register_forms import Entering
from scalewright.terminal.screens.form import Cell, FormScreen, Keep
from scalewright.terminal.screens.frame import BenchScreen

if TYPE_CHECKING:
    from scalewright.records.journal import Journal

Found = TypeVar("Found")
REST_S = 0.05
"""A line is read up on once one rests on it: whoever runs down the list does not wait for every line."""


class Line(NamedTuple):
    """One line of the list."""

    key: str
    """names it, once in the list"""
    text: Content
    about: object = None
    """what it is a line of, where that is known without reading up"""


class List(OptionList):
    """The lines, one of them chosen."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "select", "Open", key_display="Enter")]

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Where there is no line, none can be opened."""
        return self.option_count > 0 if action == "select" else True


class ListScreen(BenchScreen):
    """Beside the list stands what is known of one line; where there is no room, it takes the place of the list.

    The journal is read in threads, so that no key waits for it. Subclasses give `read_lines` and `read_up`, which run
    there, and `show_found`, which does not.
    """

    CSS_PATH = "listing.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "back", "Back")]
    HEADINGS: ClassVar[str]
    """over the columns of the list"""
    FIRST_TIME: ClassVar[str]
    """what to do while there is nothing to list"""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.lines: list[Line] = []
        self.found: object | None = None
        """what is known of the line one is on; None while that is being read"""

    @property
    def line(self) -> Line | None:
        """The line one is on."""
        if not self.lines:
            return None  # there may be no list yet: the keys at the foot ask early what can be done
        place = self.query_one("#list", OptionList).highlighted
        return None if place is None or place >= len(self.lines) else self.lines[place]

    def compose_body(self) -> ComposeResult:
        """The list, and beside it what is known of one line."""
        yield Static(id="lead", markup=False)
        with Horizontal(id="shelf"):
            with Vertical(id="left"):
                yield Static(self.HEADINGS, id="headings", markup=False)
                yield List(id="list", compact=True, markup=False)
            with VerticalScroll(id="detail"):
                yield from self.compose_detail()

    def compose_detail(self) -> ComposeResult:
        """What is known of one line; a text, if nothing else is said."""
        yield Static(id="known", markup=False)

    def read_lines(self, journal: "Journal") -> Sequence[Line]:
        """Return the list. Runs in a thread."""
        raise NotImplementedError

    def read_up(self, journal: "Journal", key: str) -> object:
        """Return what is known of one line. Runs in a thread."""
        raise NotImplementedError

    def show_found(self, found: object) -> None:
        """Show what `read_up` returned."""
        raise NotImplementedError

    def on_screen_resume(self) -> None:
        """As every screen; and something may have been recorded meanwhile."""
        super().on_screen_resume()
        self.look()

    def look(self) -> None:
        """Read the list anew."""
        if are_there(self.bench.records):
            self.read(self.read_lines, self._list, "list")
        else:
            self._list([])

    def _list(self, lines: Sequence[Line]) -> None:
        kept = self.line
        listed = self.query_one("#list", OptionList)
        self.lines, self.found = [], None
        listed.clear_options()
        self.add_lines(lines)
        self.query_one("#lead", Static).update(Content("" if lines else self.FIRST_TIME.strip()))
        self.set_class(not lines, "-nothing")
        if lines:
            listed.highlighted = next((n for n, line in enumerate(lines) if kept and line.key == kept.key), 0)
            if self.focused is None:
                listed.focus()
        else:
            self.set_focus(None)
        self.refresh_bindings()

    def add_lines(self, lines: Sequence[Line]) -> None:
        """Put lines below the others."""
        self.lines += lines
        self.query_one("#list", OptionList).add_options(Option(line.text, id=line.key) for line in lines)

    def read(self, act: "Callable[[Journal], Found]", use: Callable[[Found], None], group: str = "read") -> None:
        """Have something read in a thread and go on with it in this screen's own time; what is wrong is said.

        Only the newest wish of a group counts.
        """
        _: Worker[None] = self.run_worker(partial(self._carry_out, act, use), group=group, exclusive=True)

    async def _carry_out(self, act: "Callable[[Journal], Found]", use: Callable[[Found], None]) -> None:
        try:
            found = await asyncio.to_thread(with_journal, self.bench.records, act)
            if self.query("#detail"):  # else the program was left meanwhile
                use(found)
        except ScalewrightError as error:
            self.say_not(error)

    async def write(self, act: "Callable[[Journal], Found]") -> Found:
        """Return what comes of writing to the journal, which is made where there is none. Raises ScalewrightError."""
        return await asyncio.to_thread(with_journal, self.bench.records, act, writes=True)

    async def keep(self, entering: Entering) -> str:
        """Put something into a register and return what to say. Raises ScalewrightError."""
        said = await self.write(entering)
        self.bench.by = entering.by
        return said

    def fill_in(self, title: str, cells: Sequence[Cell], keep: Keep, first: str = "") -> None:
        """Lay a form over the screen; once it is kept, say so and read the list anew."""

        def kept(said: str | None) -> None:
            if said is not None:
                self.look()
                self.say(said)

        self.app.push_screen(FormScreen(title, cells, keep, first), kept)

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Read up on the line, once one rests on it."""
        self.found = None
        self.refresh_bindings()
        self._look_up(str(event.option.id))

    @work(group="detail", exclusive=True)
    async def _look_up(self, key: str) -> None:
        await asyncio.sleep(REST_S)
        await self._carry_out(lambda journal: self.read_up(journal, key), self._show)

    def _show(self, found: object) -> None:
        self.found = found
        self.refresh_bindings()
        self.query_one("#detail", VerticalScroll).scroll_home(animate=False)
        self.show_found(found)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Go to what is known of the line."""
        self.add_class("-detail")
        self._reading_place().focus()
        self.refresh_bindings()

    def _reading_place(self) -> Widget:
        return self.query_one("#detail", VerticalScroll)

    def action_back(self) -> None:
        """Back to the list."""
        self.remove_class("-detail")
        self.query_one("#list", OptionList).focus()
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """One can go back only from somewhere."""
        return self.has_class("-detail") if action == "back" else True
