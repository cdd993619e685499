"""The application: it puts the screens together and hands them the news from the scale. The work is done elsewhere."""

import threading
from collections.abc import Iterable
from functools import partial
from typing import ClassVar

from textual.app import App, SystemCommand
from textual.binding import Binding, BindingType
from textual.screen import Screen

from scalewright.terminal.ascii_only import AsciiOnly
from scalewright.terminal.bench import Bench
from scalewright.terminal.messages import LineChanged, ReadingsArrived, WorkChanged
from scalewright.terminal.screens import SCREENS, load_screens, make_screen
from scalewright.terminal.themes import PAPER, SLATE

NEWS_EVERY_S = 0.1
"""Ten times a second: as often as a person can follow, however fast the readings come."""


REST_S = 0.3
WIDTHS = [(0, "-narrow"), (110, "-wide")]
HEIGHTS = [(0, "-low"), (36, "-tall")]


class BenchApp(App[None]):
    """Work at the bench. url: of the scale to begin with, if it is known already."""

    CSS_PATH = "scalewright.tcss"
    TITLE = "Scalewright"
    DEFAULT_MODE = "connect"
    ENABLE_COMMAND_PALETTE = True
    HORIZONTAL_BREAKPOINTS = WIDTHS
    VERTICAL_BREAKPOINTS = HEIGHTS
    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(entry.key, f"go('{name}')", entry.title, show=False) for name, entry in SCREENS.items()),
        Binding("f1,question_mark", "screen.help", "Help", key_display="F1"),
        Binding("q", "leave", "Quit"),
        Binding("f3", "change_look", "Light or dark", show=False),
        Binding("ctrl+q", "leave", "Quit", show=False, priority=True),
    ]

    def __init__(self, bench: Bench, url: str = "", *, is_light: bool = False, is_ascii: bool = False) -> None:
        super().__init__()
        self.bench = bench
        self._url = url
        for theme in (SLATE, PAPER):
            self.register_theme(theme)
        self.set_reactive(App.theme, (PAPER if is_light else SLATE).name)  # nothing is drawn yet that it would change
        if is_ascii:
            self._filters.append(AsciiOnly())
        for name in SCREENS:
            self.add_mode(name, partial(make_screen, name, bench))

    def on_mount(self) -> None:
        """Pass news on from now on; go to weigh where it is said which scale."""
        self.set_interval(NEWS_EVERY_S, self.pass_news_on)
        if self._url:
            self.bench.connect(self._url)
            self.switch_mode("weigh")

    def on_ready(self) -> None:
        """The first screen is there: load the others, as soon as it has come to rest."""
        loading = threading.Thread(target=load_screens, name="loading screens", daemon=True)
        self.set_timer(REST_S, loading.start)

    def on_unmount(self) -> None:
        """Let the scale go, however the program ends."""
        self.bench.let_go()

    def pass_news_on(self) -> None:
        """Tell the screen in front what came from the scale."""
        before = self.bench.progress
        readings, line = self.bench.take_news()
        if not self.screen_stack:
            return  # the last news before the end
        front = self.screen_stack[0]
        if line is not None:
            front.post_message(LineChanged(line))
        if self.bench.progress is not before:
            front.post_message(WorkChanged())
        if readings:
            front.post_message(ReadingsArrived(readings))

    def action_go(self, name: str) -> None:
        """Go to a screen, out of whatever lies over the one in front."""
        while len(self.screen_stack) > 1:
            self.pop_screen()
        self.switch_mode(name)

    def action_leave(self) -> None:
        """Leave the program. What was accepted is in the records already."""
        self.exit()

    def action_change_look(self) -> None:
        """Change between the dark and the light look."""
        self.theme = (SLATE if self.theme == PAPER.name else PAPER).name

    def action_help_quit(self) -> None:
        """Ctrl+C copies where something is marked; elsewhere people want to leave by it, so say how."""
        self.notify("Ctrl+Q leaves the program; nothing that was accepted is lost.", timeout=4)

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """What the command palette offers: the screens first."""
        for name, entry in SCREENS.items():
            yield SystemCommand(entry.title, f"Go to {entry.title}", partial(self.action_go, name))
        yield SystemCommand("Light or dark", "Change between the two looks", self.action_change_look)
        yield SystemCommand("Quit", "Leave the program", self.action_leave)
