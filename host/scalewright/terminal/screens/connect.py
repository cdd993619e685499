"""Connect: where is the scale?"""

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from scalewright.terminal.bench import Bench, virtual_url
from scalewright.terminal.line import CLOSED, LIVE, OPENING
from scalewright.terminal.screens.frame import BenchScreen

if TYPE_CHECKING:
    from scalewright.link.ports import Port

VIRTUAL_SCALE = "virtual scale"
"""First in the list: what Enter does at once must not depend on what else is plugged in."""
FIRST_LOOK_S = 0.05
LOOK_EVERY_S = 2.0
_FIRST_LINE = "Press Enter to try everything on the virtual scale, or plug a scale in and choose its port."
_SEVERAL = "Choose the port of your scale with the arrow keys, then press Enter."


class PortList(OptionList):
    """The ports, one a line."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "select", "Connect", key_display="Enter")]


class ConnectScreen(BenchScreen):
    """Ports with what is behind them; the virtual scale is always among them."""

    NAME = "connect"
    HELP = """
Scalewright needs to know where your scale is. Each line is a port of this computer and what the computer knows of the
thing behind it; a board that you plug in appears by itself within two seconds.

No hardware? The virtual scale behaves like a real one, down to the bits of its converter: calibrate it, test it, break
it. It keeps its coefficients beside your records.

A port that is not listed, such as socket://bench-3:4000, can be typed after pressing O.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("o", "other", "Other port"),
        Binding("d", "let_go", "Let go"),
    ]

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self._ports: list[Port] | None = None
        self._is_waiting = False

    def compose_body(self) -> ComposeResult:
        """What to do, the ports, and the scale that is connected."""
        yield Static(_FIRST_LINE, id="next")
        yield PortList(id="ports", compact=True, markup=False)
        yield Static(id="found")

    def on_mount(self) -> None:
        """Look for ports now and again."""
        self._list([])
        self.set_timer(FIRST_LOOK_S, self.look)
        self.set_interval(LOOK_EVERY_S, self.look)
        self.query_one("#ports").focus()

    def look(self) -> None:
        """List the ports, where they changed."""
        if not self.is_current:
            return
        ports = [port for port in self.bench.find_ports() if not port.url.startswith("virtual:")]
        if ports != self._ports:
            self._ports = ports
            self._list(ports)

    def _list(self, ports: "list[Port]") -> None:
        listed = self.query_one("#ports", OptionList)
        kept = listed.highlighted or 0
        listed.clear_options()
        listed.add_option(Option("virtual scale           always there; needs no hardware", id=VIRTUAL_SCALE))
        listed.add_options(Option(_line_of(port), id=port.url) for port in ports)
        listed.highlighted = min(kept, len(ports))
        self.query_one("#next", Static).update(_SEVERAL if any(port.is_usb for port in ports) else _FIRST_LINE)

    def show_bench(self) -> None:
        """Say what scale there is, and go on to weigh where it has just answered."""
        line = self.bench.line
        found = self.query_one("#found", Static)
        found.update(_facts(self.bench) if line.identity else "")
        if line.state == LIVE and self._is_waiting:
            self.call_later(partial(self.app.run_action, "go('weigh')"))
        elif line.state == CLOSED and self._is_waiting:
            self.say(f"Not connected: {line.text}")
        self._is_waiting = self._is_waiting and line.state == OPENING
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only a scale that is held can be let go."""
        return self.bench.live is not None if action == "let_go" else True

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Take the scale at this port."""
        assert event.option.id is not None
        self._connect(virtual_url(self.bench.records) if event.option.id == VIRTUAL_SCALE else event.option.id)

    def _connect(self, url: str | None) -> None:
        if url is None:
            return
        self.say(f"Opening {url} …")
        self._is_waiting = True
        self.bench.connect(url)

    def action_choose(self) -> None:
        """Take the scale that is highlighted."""
        self.query_one("#ports", OptionList).action_select()

    def action_other(self) -> None:
        """Ask for the name of a port."""
        from scalewright.terminal.screens.ask import AskScreen  # the first screen is there sooner without it

        self.app.push_screen(AskScreen("Which port? A device name, or a URL.", "/dev/ttyUSB0"), self._connect)

    def action_let_go(self) -> None:
        """Close the line."""
        self.bench.let_go()
        self.on_screen_resume()
        self.say("The scale was let go.")


def _line_of(port: "Port") -> Content:
    kind = "USB" if port.is_usb else "serial line"
    return Content(f"{port.url:24}{kind}: {port.description}")


def _facts(bench: Bench) -> Content:
    identity = bench.line.identity
    assert identity is not None
    facts = (
        ("scale", f"{identity.model} {identity.serial_number}"),
        ("firmware", identity.firmware),
        ("coefficients", identity.coefficients if bench.is_calibrated else "none: not calibrated yet"),
        ("events", f"{identity.events}, such as a change of coefficients"),
        ("line", bench.line.text),
    )
    return Content("\n".join(f"{name:14}{value}" for name, value in facts))
