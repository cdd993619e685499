"""Weigh: what lies on the scale, and whether the reading can be trusted."""

from decimal import Decimal
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from scalewright import shown
from scalewright.link.diagnosis import DeviceDiagnosis
from scalewright.terminal.bench import Bench
from scalewright.terminal.line import LOST, STRANGER
from scalewright.terminal.messages import ReadingsArrived
from scalewright.terminal.screens.ask import AskScreen, ChooseScreen
from scalewright.terminal.screens.frame import BenchScreen
from scalewright.terminal.widgets.figures import Figures
from scalewright.terminal.widgets.findings import Findings
from scalewright.terminal.widgets.large_number import LargeNumber
from scalewright.terminal.widgets.live_chart import SPANS_S, LiveChart
from scalewright.terminal.widgets.state_words import StateWords, number_of
from scalewright.units import UNITS, Unit, find_unit

DIGITS_EVERY, CHART_EVERY = 2, 4
"""So many times that readings come, digits and chart are drawn: five times a second and half as often, together."""
FIGURES_EVERY_S = 1.0
DIAGNOSIS_EVERY_S = 2.0
SPEEDS = (1, 5, 20)
GRAM = find_unit("g")
PIECES = "pcs"


class WeighScreen(BenchScreen):
    """The indication in large digits, its last minute, and what the device makes of its own counts."""

    CSS_PATH = "weigh.tcss"
    NAME = "weigh"
    HELP = """
The large digits are what the scale shows. Beside them: is the load still, is a tare taken off, does the scale stand at
zero. Below: the last minute as a chart, how much the reading scatters (noise) and where it is going (drift), and what
the scale makes of its own wiring, in words.

Zero lets what lies on the pan now be zero, within 4 % of Max (OIML R 76-1:2006, 4.5.1); tare takes a container off.
Units holds those of many places; the ones that differ from place to place carry its name. Pieces counts equal parts:
put some on, say how many they are.

On the virtual scale, Load puts a mass on the pan, and Speed lets its time run faster.

Never overload a scale, and never stand under a lifted load. Scalewright does not make a scale legal for trade.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("z", "zero", "Zero"),
        Binding("t", "tare", "Tare"),
        Binding("x", "clear_tare", "Clear"),
        Binding("u", "unit", "Unit"),
        Binding("p", "pieces", "Pieces"),
        Binding("plus,equals_sign", "span(1)", "Longer chart", show=False),
        Binding("minus", "span(-1)", "Shorter chart", show=False),
        Binding("f", "findings", "Findings"),
        Binding("l", "load", "Load"),
        Binding("s", "speed", "Speed"),
    ]

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.unit: Unit | None = GRAM
        """That is shown; None for pieces."""
        self.diagnosis: DeviceDiagnosis | None = None
        self._speed = SPEEDS[0]
        self._is_asking = False
        self._times = 0

    def compose_body(self) -> ComposeResult:
        """Digits, words, chart and figures."""
        yield LargeNumber(id="indication")
        with Horizontal(id="plate"):
            yield Static(id="range")
            yield StateWords(id="words")
        with Horizontal(id="below"):
            yield LiveChart(id="chart")
            with Vertical(id="figures"):
                yield Figures()
                yield Findings()

    def on_mount(self) -> None:
        """Draw and ask at a pace that suits a person."""
        self.set_interval(FIGURES_EVERY_S, self._count_readings)
        self.set_interval(DIAGNOSIS_EVERY_S, self._diagnose)

    def show_bench(self) -> None:
        """Say what to do where there is no scale, or none that is calibrated."""
        bench = self.bench
        if bench.live is None:
            self.say("No scale is connected. Press 1 and choose one.")
        elif bench.line.state in (LOST, STRANGER):
            self.say(f"{bench.line.text}. It goes on by itself when the same scale is back.")
        elif bench.is_live and not bench.is_calibrated:
            self.say("Not calibrated yet, so raw counts are shown. Press 3 to calibrate.")
        else:
            self.say("")
        self.query_one("#range", Static).update(_range_of(bench))
        self._show_indication("")
        self._draw()
        self._count_readings()
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What only a virtual scale has is offered for one only."""
        return self.bench.is_virtual if action in ("load", "speed") else True

    def on_readings_arrived(self, message: ReadingsArrived) -> None:
        """Show the latest, as often as a person can follow."""
        self._times += 1
        if self._times % DIGITS_EVERY:
            return
        if self._times % CHART_EVERY == 0:
            self._draw()
        if self.unit is None or shown.is_of_the_device(self.unit):
            self._ask_the_device()
        else:
            self._show_indication("")

    def _ask_the_device(self) -> None:
        """Have the device say it in its own unit; one question at a time."""
        if self.bench.live is not None and not self._is_asking:
            self._is_asking = True
            self.then(self.bench.live.ask("FETCh:MASS?"), self._show_answer)

    def _show_answer(self, answer: str) -> None:
        self._is_asking = False
        value, symbol = answer.rsplit(",", 1)
        self._show_indication(value, symbol.strip('"'))

    def _show_indication(self, value: str, symbol: str = "g") -> None:
        number, latest = self.query_one(LargeNumber), self.bench.latest
        if latest is None or not self.bench.is_calibrated or latest.indication_g is None:
            number.text, number.unit = number_of(self.bench)
        elif value:
            number.text, number.unit = value, symbol
        else:
            number.text, number.unit = self._in_chosen_unit(latest.indication_g)
        self.query_one(StateWords).show(self.bench)

    def _in_chosen_unit(self, indication_g: Decimal) -> tuple[str, str]:
        record = self.bench.line.record
        if self.unit is None or self.unit is GRAM or record is None:
            return str(indication_g), "g"
        return shown.in_unit(indication_g, self.unit, record), self.unit.symbol

    def _draw(self) -> None:
        if self.is_current:
            self.query_one(LiveChart).show(self.bench.trace)

    def _count_readings(self) -> None:
        if self.is_current:
            self.query_one(Figures).show(self.bench, self.diagnosis)

    def _diagnose(self) -> None:
        if self.is_current and self.bench.is_live and self.bench.live is not None:
            self.then(self.bench.live.between(DeviceDiagnosis.read), self._show_diagnosis)

    def _show_diagnosis(self, diagnosis: DeviceDiagnosis) -> None:
        self.diagnosis = diagnosis
        self.query_one(Findings).show(diagnosis)

    def _command(self, command: str, done: str) -> None:
        """Have a command carried out and say so."""
        if self.bench.live is None or not self.bench.is_live:
            self.say("Not done: no scale is on the line.")
        else:
            self.then(self.bench.live.ask(command), lambda _: self.say(done))

    def action_zero(self) -> None:
        """Let what is on the pan be zero."""
        self._command("SENSe:ZERO", "Zero is set.")

    def action_tare(self) -> None:
        """Take what is on the pan off from now on."""
        self._command("SENSe:TARE", "Tare is set: what comes on the pan now is shown net.")

    def action_clear_tare(self) -> None:
        """Show gross values again."""
        self._command("SENSe:TARE:CLEar", "Tare is cleared: values are gross.")

    def action_span(self, step: int) -> None:
        """Show a longer or shorter time."""
        chart = self.query_one(LiveChart)
        chart.span_s = SPANS_S[min(max(SPANS_S.index(chart.span_s) + step, 0), len(SPANS_S) - 1)]

    def action_unit(self) -> None:
        """Ask for a unit."""
        lines = [f"{unit.symbol:8} {unit.name}" for unit in UNITS]
        self.app.push_screen(ChooseScreen("Show the indication in", lines), self._use_unit)

    def _use_unit(self, place: int | None) -> None:
        if place is not None:
            self.unit = UNITS[place]
            of_device = self.unit.symbol if shown.is_of_the_device(self.unit) else "g"
            self._command(f'UNIT:MASS "{of_device}"', f"Shown in {self.unit.name}.")

    def action_pieces(self) -> None:
        """Ask how many equal parts lie on the pan."""
        self.app.push_screen(AskScreen("How many equal pieces lie on the pan now?", "10"), self._use_pieces)

    def _use_pieces(self, number: str | None) -> None:
        if number is not None and self.bench.live is not None:
            self.then(self.bench.live.ask(f"UNIT:PIECes {number}"), self._count)

    def _count(self, _: str) -> None:
        self.unit = None
        self.say("Counting pieces. U goes back to a unit of mass.")

    def action_findings(self) -> None:
        """Show everything that should be checked, in order."""
        self.query_one(Findings).show_all()

    def action_load(self) -> None:
        """Ask what is to lie on the virtual pan."""
        self.app.push_screen(AskScreen("What is to lie on the virtual pan, in grams?", "0 clears it"), self._put)

    def _put(self, load_g: str | None) -> None:
        if load_g is not None:
            self._command(f"VIRTual:LOAD {load_g}", f"{load_g} g is on the virtual pan.")

    def action_speed(self) -> None:
        """Let virtual time run at the next speed."""
        self._speed = SPEEDS[(SPEEDS.index(self._speed) + 1) % len(SPEEDS)]
        self._command(f"VIRTual:CLOCk:SPEed {self._speed}", f"Virtual time runs {self._speed} times as fast as yours.")


def _range_of(bench: Bench) -> str:
    """The markings of the scale: Max and d."""
    record = bench.line.record
    if record is None:
        return ""
    division_g = Decimal(record.mantissa).scaleb(record.power_of_ten)
    return f"Max {record.max_divisions * division_g:f} g   d = {division_g:f} g"
