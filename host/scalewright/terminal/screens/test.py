"""Test: the scale as it is, against its tolerance; and the daily check, in seconds."""

from collections.abc import Iterable
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, Horizontal, Vertical
from textual.widgets import Button, Input, Select, Static

from scalewright.equipment import RegisteredScale
from scalewright.procedures.verification import SETS, TESTS
from scalewright.terminal.open_jobs import DAILY_CHECK, TEST
from scalewright.terminal.plans import TestForm
from scalewright.terminal.screens.begin import BeginScreen
from scalewright.terminal.screens.calibrate import CLASSES
from scalewright.terminal.widgets.tick_list import TickList

USUAL = "usual"
FIELDS = {  # name of TestForm -> what the person reads
    "steps": "Loads up to Max",
    "times": "Weighings in a series",
    "readings": "Readings at each load",
    "check_masses_g": "Daily check masses, g",
}


class TestScreen(BeginScreen):
    """What to test, then the guided job."""

    __test__ = False  # for pytest, which would take it for one of its own by its name

    NAME = "test"
    KINDS = (TEST, DAILY_CHECK)
    HELP = """
A test leaves the scale as it is and says whether it keeps its tolerance. Tick the tests, or take one of the usual sets:
quick, usual, full, or laboratory, which takes hours. Space ticks a test.

Each step says what to put where; for loads off the middle the place on the pan is drawn. Every result stands beside
what is allowed as it comes, and at the end the faults that the results point to are named, with what to check.

A registered scale is held against the limits it is registered with; of a mass set, each load is put together from its
pieces. What is overdue or not as it should be is then said before the job begins.

D is the daily check: one or two masses, in seconds, against the limits for a scale in use. It goes into the records,
and so into the control chart.
"""
    BINDINGS: ClassVar[list[BindingType]] = [Binding("d", "daily_check", "Daily check")]

    def compose_plan(self) -> ComposeResult:
        """The tests to tick, and the fields with their usual values."""
        yield Static("What is to be tested? Enter begins with what is ticked; D is the daily check.", classes="lead")
        with Horizontal(id="choice"):
            yield TickList(tuple(TESTS), SETS[USUAL], id="tests")
            with Vertical():
                with Grid(classes="form"):
                    yield Static("Set of tests")
                    yield Select(
                        ((name, name) for name in SETS), value=USUAL, allow_blank=False, id="set", compact=True
                    )
                    yield Static("Accuracy class, OIML R 76")
                    yield _choice("class", CLASSES, "III")
                    for name, words in FIELDS.items():
                        yield Static(words)
                        yield Input(getattr(TestForm, name), id=name, compact=True)
                yield from self.compose_job_fields()
                yield Button("Begin", id="begin", variant="primary", compact=True)

    def focus_form(self) -> None:
        """Enter begins."""
        self.query_one("#begin").focus()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """The daily check begins where no job is on."""
        if action == "daily_check":
            return self.bench.progress is None
        return super().check_action(action, parameters)

    def form(self, registered: RegisteredScale | None = None) -> TestForm:
        """Return what is filled in."""
        typed = {name: self.query_one(f"#{name}", Input).value.strip() for name in FIELDS}
        accuracy_class = str(self.query_one("#class", Select).value)
        return TestForm(self.query_one(TickList).ticked, accuracy_class, **typed, registered=registered)

    @on(Select.Changed, "#set")
    def tick_set(self, event: Select.Changed) -> None:
        """Tick the tests of a set."""
        self.query_one(TickList).tick(SETS[str(event.value)])

    @on(Button.Pressed, "#begin")
    def begin(self) -> None:
        """Begin the tests that are ticked."""
        record = self.bench.line.record
        if self._is_ready() and record is not None:
            self.begin_job(lambda chosen: self.form(chosen.scale).test(record, chosen.make))

    def action_daily_check(self) -> None:
        """Begin the daily check."""
        record = self.bench.line.record
        if self._is_ready() and record is not None:
            self.begin_job(lambda chosen: self.form(chosen.scale).daily_check(record, chosen.make))

    def _is_ready(self) -> bool:
        if not self.bench.is_live:
            self.say("Not begun: no scale is connected. Press 1 and choose one.")
        elif not self.bench.is_calibrated:
            self.say("Not begun: the scale is not calibrated. Press 3 to calibrate it.")
        return self.bench.is_live and self.bench.is_calibrated


def _choice(name: str, values: Iterable[str], usual: str) -> Select[str]:
    return Select(((value, value) for value in values), value=usual, allow_blank=False, id=name, compact=True)
