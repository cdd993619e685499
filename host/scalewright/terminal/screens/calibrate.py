"""Calibrate: as found, adjustment, as left, in one job."""

from textual import on
from textual.app import ComposeResult
from textual.containers import Grid
from textual.widgets import Button, Input, Select, Static

from scalewright.errors import InputError
from scalewright.terminal.bench import Bench
from scalewright.terminal.open_jobs import CALIBRATION
from scalewright.terminal.plans import Form
from scalewright.terminal.screens.begin import BeginScreen

CLASSES = ("I", "II", "III", "IIII")
FIELDS = {  # name of Form -> what the person reads
    "max_g": "Max, the largest load, in grams",
    "division_g": "d, the division, in grams",
    "steps": "Loads from zero to Max",
    "readings": "Readings at each load",
}


class CalibrateScreen(BeginScreen):
    """A form, then the guided job."""

    NAME = "calibrate"
    KINDS = (CALIBRATION,)
    HELP = """
A calibration finds how the scale's indication and known masses belong together; the adjustment then makes the scale
show them rightly. It is one job: the scale is tested as found, adjusted at known loads up and down, and tested as left.

Fill in what the scale is to be, or leave what is there. Each step then says what to put where, waits until the load
is still, and tells what it found beside what is allowed. A reading that cannot be right is refused, and you are told
why. R repeats the last one. P pauses; you may even leave the program, and go on another day.

Choose your mass set, and the loads are put together from its pieces; choose the registered scale, and the job belongs
to its history. What is overdue or not as it should be is then said before the job begins.

Use known masses. Never load a scale above its Max, and lift heavy masses with care.
"""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self._form = Form()

    def compose_plan(self) -> ComposeResult:
        """The fields with their usual values, and the button that begins."""
        yield Static("What is the scale to be? Press Enter to begin with what is filled in.", classes="lead")
        with Grid(classes="form"):
            for name, words in FIELDS.items():
                yield Static(words)
                yield Input(getattr(self._form, name), id=name, compact=True)
            yield Static("Accuracy class, OIML R 76")
            yield Select(((name, name) for name in CLASSES), value="III", allow_blank=False, id="class", compact=True)
        yield from self.compose_job_fields()
        yield Button("Begin", id="begin", variant="primary", compact=True)
        yield Static(id="objections", classes="quiet")

    def focus_form(self) -> None:
        """Enter begins."""
        self.query_one("#begin").focus()

    def on_screen_resume(self) -> None:
        """As every screen; and the button is at hand."""
        super().on_screen_resume()
        if not self.bench.is_live:
            self.say("No scale is connected. Press 1 and choose one.")

    def form(self) -> Form:
        """Return what is filled in."""
        typed = {name: self.query_one(f"#{name}", Input).value.strip() for name in FIELDS}
        return Form(accuracy_class=str(self.query_one("#class", Select).value), **typed)

    @on(Input.Changed)
    def show_objections(self) -> None:
        """Say what the standard has against it, before it is begun."""
        try:
            text = "; ".join(self.form().objections())
        except InputError as error:
            text = str(error)
        self.query_one("#objections", Static).update(text)

    @on(Input.Submitted)
    def go_to_next_field(self) -> None:
        """Enter goes on to what comes next."""
        self.focus_next()

    @on(Button.Pressed, "#begin")
    def begin(self) -> None:
        """Begin the job."""
        if not self.bench.is_live:
            self.say("Not begun: no scale is connected. Press 1 and choose one.")
            return
        asks = self.bench.is_calibrated
        self.begin_job(lambda chosen: self.form().calibration(chosen.make, asks=asks), calibrates=True)
