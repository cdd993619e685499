"""The two lines at the top: what scale is on the line, and the way to the other screens."""

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from scalewright.terminal.bench import Bench
from scalewright.terminal.line import CLOSED, LIVE, LOST, OPENING, STRANGER
from scalewright.terminal.screens import SCREENS

# state -> (sign, word, theme colour): the sign and the word say it, the colour only helps
STATES = {
    OPENING: ("…", "opening", "$accent"),
    LIVE: ("●", "live", "$success"),
    LOST: ("○", "line lost, trying again", "$error"),
    STRANGER: ("○", "another scale", "$error"),
    CLOSED: ("○", "no scale", "$secondary"),
}


class TopLines(Vertical):
    """Says where one is."""

    def __init__(self, bench: Bench, name: str) -> None:
        super().__init__()
        self._bench = bench
        self._name_of_screen = name

    def compose(self) -> ComposeResult:
        """The program and the line; below them the screens with the key of each."""
        with Horizontal(id="top"):
            yield Static(Content.styled("Scalewright", "bold"), id="program")
            yield Static(id="line")
        yield Static(self._ways(), id="ways")

    def on_mount(self) -> None:
        """Show the line as it is."""
        self.show_line()

    def show_line(self) -> None:
        """Say what scale is on the line, and whether it answers."""
        line = self._bench.line
        sign, word, colour = STATES[line.state]
        name = f"{line.identity.model} {line.identity.serial_number}  " if line.identity else ""
        self.query_one("#line", Static).update(Content.from_markup(f"$name[{colour}]{sign} {word}[/]", name=name))

    def _ways(self) -> Content:
        parts = []
        for name, entry in SCREENS.items():
            style = "bold reverse" if name == self._name_of_screen else "$secondary"
            parts.append(Content.from_markup(f"[{style} @click=app.go('{name}')] {entry.key} {entry.title} [/]"))
        return Content("").join(parts)
