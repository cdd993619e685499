"""What every screen has: the top lines, the help on F1 and the keys at the foot."""

import asyncio
from collections.abc import Callable
from concurrent.futures import Future
from typing import ClassVar, TypeVar

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from scalewright.errors import ScalewrightError
from scalewright.terminal.bench import Bench
from scalewright.terminal.line import Leave
from scalewright.terminal.messages import LineChanged
from scalewright.terminal.reasons import reason
from scalewright.terminal.widgets.keys import Keys
from scalewright.terminal.widgets.top_lines import TopLines

Found = TypeVar("Found")


class BenchScreen(Screen[None]):
    """A screen of the navigation. Subclasses give NAME, HELP and `compose_body`.

    A subclass that shows the line or readings has `on_line_changed` or `on_readings_arrived`; it gets them only while
    it is in front, so `show_bench` brings it up to date whenever it comes to the front.
    """

    NAME: ClassVar[str]
    """Of the screen, as in SCREENS."""
    HELP: ClassVar[str]
    """What it is for and how it goes, in a few short paragraphs."""

    def __init__(self, bench: Bench) -> None:
        super().__init__()
        self.bench = bench

    def compose(self) -> ComposeResult:
        """The frame around the body."""
        yield TopLines(self.bench, self.NAME)
        with Vertical(id="body"):
            yield from self.compose_body()
        yield Static(id="saying")
        yield Keys(id="keys")

    def compose_body(self) -> ComposeResult:
        """The widgets of this screen."""
        raise NotImplementedError

    def show_bench(self) -> None:
        """Bring what is shown up to date with the bench."""

    def on_screen_resume(self) -> None:
        """Catch up: while another screen was in front, nothing was told to this one."""
        self.query_one(TopLines).show_line()
        self.show_bench()

    def on_line_changed(self, message: LineChanged) -> None:
        """Show the line at the top; subclasses show the rest."""
        self.query_one(TopLines).show_line()
        self.show_bench()

    def action_help(self) -> None:
        """Explain this screen."""
        from scalewright.terminal.screens.help import HelpScreen

        self.app.push_screen(HelpScreen(self.NAME, self.HELP, self.active_bindings.values()))

    def say(self, text: str) -> None:
        """Answer the person, in the line above the keys."""
        self.query_one("#saying", Static).update(Content(text))

    def say_not(self, error: ScalewrightError) -> None:
        """Say that something was not done, and why."""
        self.query_one("#saying", Static).update(
            Content.from_markup("[bold $error]Not done:[/] $why", why=reason(error))
        )

    def then(self, future: "Future[Found]", use: Callable[[Found], None]) -> None:
        """Go on with what the scale's thread finds, in this screen's own time; what it refuses is said."""
        self.run_worker(self._await(future, use))

    async def _await(self, future: "Future[Found]", use: Callable[[Found], None]) -> None:
        try:
            found = await asyncio.wrap_future(future)
            if self.is_attached:  # the person may have left meanwhile
                use(found)
        except ScalewrightError as error:
            self.say_not(error)
        except Leave:
            pass  # the scale was let go meanwhile
