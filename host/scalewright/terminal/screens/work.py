"""What Calibrate and Test share: a form before the job, and the guided job."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from scalewright.errors import RecordError
from scalewright.procedures.requests import Ask
from scalewright.terminal.guidance import time_left, what_and_how
from scalewright.terminal.messages import ReadingsArrived, WorkChanged
from scalewright.terminal.open_jobs import find_open_jobs
from scalewright.terminal.progress import ASKED, ENDED, FAILED, HANDS, PAUSED, REFUSED, WORKING, Progress
from scalewright.terminal.screens.ask import AskScreen, ChooseScreen
from scalewright.terminal.screens.frame import BenchScreen
from scalewright.terminal.widgets.error_plot import ErrorPlot
from scalewright.terminal.widgets.large_number import LargeNumber
from scalewright.terminal.widgets.outcomes import Outcomes
from scalewright.terminal.widgets.pan import Pan
from scalewright.terminal.widgets.stages import Stages
from scalewright.terminal.widgets.state_words import StateWords, number_of

_BAR = 16  # columns
STATES = {  # action -> the states of a job in which it is offered
    "next": {HANDS, ASKED, REFUSED, PAUSED, ENDED, FAILED},
    "by_itself": {HANDS},
    "repeat": {HANDS, WORKING, PAUSED},
    "accept": {REFUSED},
    "pause": {HANDS, WORKING, ASKED, REFUSED},
    "put_away": {PAUSED, ENDED, FAILED},
}


class OpenJobs(OptionList):
    """Jobs that can be gone on with."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "select", "Go on", key_display="Enter")]


class WorkScreen(BenchScreen):
    """Shows `compose_plan` while no job is on, and the job while one is."""

    CSS_PATH = "work.tcss"
    KINDS: ClassVar[tuple[str, ...]]
    """Kinds of the jobs that are begun here, as open_jobs has them."""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "next", "Next", key_display="Enter"),
        Binding("a", "by_itself", "All by itself"),
        Binding("r", "repeat", "Repeat"),
        Binding("w", "accept", "Accept, with a reason"),
        Binding("p", "pause", "Pause"),
        Binding("n", "put_away", "New"),
        Binding("g", "plot", "Plot"),
    ]

    AUTO_FOCUS = ""
    _offered: object = None

    def compose_body(self) -> ComposeResult:
        """The form, and the job over it."""
        with VerticalScroll(id="plan", can_focus=False):
            with Vertical(id="open"):
                yield Static("Not finished yet; Enter goes on with it:", classes="lead")
                yield OpenJobs(id="open_jobs", compact=True, markup=False)
            yield from self.compose_plan()
        with Vertical(id="work"):
            yield Static(id="head")
            yield Static(id="instruction")
            with Horizontal(id="middle"):
                yield Pan(id="pan")
                with Vertical():
                    yield LargeNumber(id="live")
                    yield StateWords(id="live_words")
            with Horizontal(id="results"):
                yield Stages(id="stages")
                yield Outcomes(id="outcomes")
                yield ErrorPlot(id="plot")

    def on_screen_resume(self) -> None:
        """As every screen; and look for jobs that wait to be gone on with."""
        super().on_screen_resume()
        if self.bench.progress is None:
            self.look_for_open_jobs()
            self.focus_form()

    def look_for_open_jobs(self) -> None:
        """List those of the scale that is on the line, begun on this screen."""
        identity = self.bench.line.identity
        try:
            found = find_open_jobs(self.bench.records, identity.serial_number) if identity else []
        except RecordError as error:
            found = []
            self.say_not(error)
        mine = [job for job in found if job.kind in self.KINDS]
        listed = self.query_one(OpenJobs)
        listed.clear_options()
        listed.add_options(Option(f"{job.kind} {job.name}   {job.answers} steps done", id=job.name) for job in mine)
        self.query_one("#open").display = bool(mine)
        if mine:
            listed.highlighted = 0

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Go on with this job."""
        if event.option.id is not None and self.bench.is_live:
            self.set_focus(None)
            self.then(self.bench.take_up(event.option.id), lambda _: None)

    def compose_plan(self) -> ComposeResult:
        """The form."""
        raise NotImplementedError

    def focus_form(self) -> None:
        """Put the key that begins at hand."""
        raise NotImplementedError

    def show_bench(self) -> None:
        """Show the job or the form, whichever it is time for."""
        progress = self.bench.progress
        self.set_class(progress is not None, "-working")
        if progress is not None and self.focused is not None:
            self.set_focus(None)  # Enter is for the job, not for a button below it
        if progress is not None:
            self._show(progress)
        offered = (progress and progress.state, progress and progress.can_be_accepted, self.bench.is_virtual)
        if offered != self._offered:  # the foot of the screen is built anew, so only where it differs
            self._offered = offered
            self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what can be done now."""
        progress = self.bench.progress
        if action not in STATES and action != "plot":
            return True
        if progress is None or (action == "by_itself" and not self.bench.is_virtual):
            return False
        if action == "accept" and not progress.can_be_accepted:
            return False
        return action == "plot" or progress.state in STATES[action]

    def on_work_changed(self, message: WorkChanged) -> None:
        """Show how it stands now."""
        self.show_bench()

    def on_readings_arrived(self, message: ReadingsArrived) -> None:
        """Show the scale live beside the instruction."""
        if self.bench.progress is not None:
            number = self.query_one("#live", LargeNumber)
            number.text, number.unit = number_of(self.bench)
            self.query_one("#live_words", StateWords).show(self.bench)

    def _show(self, progress: Progress) -> None:
        self.query_one("#head", Static).update(_head(progress))
        self.query_one("#instruction", Static).update(self._instruction(progress))
        self.query_one(Stages).show(progress)
        self.query_one(Pan).show(progress.request)
        self.query_one(Outcomes).show(progress)
        self.query_one(ErrorPlot).show(progress)

    def _instruction(self, progress: Progress) -> Content:
        """What to do now, in large plain words, and how to go on."""
        what, how = what_and_how(progress, is_virtual=self.bench.is_virtual)
        style = "bold $error" if progress.state in (REFUSED, FAILED) else "bold"
        return Content.assemble((f"{what[0].upper()}{what[1:]}.", style), "\n", (how, "$secondary"))

    def action_next(self) -> None:
        """Say that it is done, answer, have a reading taken again, or go on."""
        work, progress = self.bench.work, self.bench.progress
        assert work is not None
        assert progress is not None
        if progress.state == ASKED and isinstance(progress.request, Ask):
            self._answer(progress.request)
        elif progress.state == PAUSED:
            self.then(self.bench.go_on(), lambda _: None)
        elif progress.state in (ENDED, FAILED):
            self.action_put_away()
        else:
            work.reply()

    def _answer(self, question: Ask) -> None:
        def take(chosen: int | None) -> None:
            if chosen is not None and self.bench.work is not None:
                self.bench.work.reply(question.choices[chosen])

        def take_text(text: str | None) -> None:
            if text is not None and self.bench.work is not None:
                self.bench.work.reply(text)

        if question.choices:
            self.app.push_screen(ChooseScreen(question.question, question.choices), take)
        else:
            self.app.push_screen(AskScreen(question.question), take_text)

    def action_by_itself(self) -> None:
        """Let the virtual hand do everything from now on, in quick time."""
        if self.bench.work is not None:
            self.bench.work.go_by_itself()

    def action_repeat(self) -> None:
        """Ask why the last reading is to be repeated."""
        self.app.push_screen(AskScreen("Why is the last reading to be repeated?", "knocked the table"), self._repeat)

    def _repeat(self, reason: str | None) -> None:
        if reason is not None and self.bench.work is not None and self.bench.live is not None:
            self.bench.work.take_back(reason)
            self.bench.live.pause()
            self.then(self.bench.go_on(), lambda _: None)

    def action_accept(self) -> None:
        """Ask why the refused reading is right."""
        self.app.push_screen(AskScreen("Why is this reading right all the same?"), self._accept)

    def _accept(self, reason: str | None) -> None:
        if reason is not None and self.bench.work is not None:
            self.bench.work.reply(reason)

    def action_pause(self) -> None:
        """Stop at the next reading; nothing accepted is lost."""
        if self.bench.live is not None:
            self.bench.live.pause()

    def action_put_away(self) -> None:
        """Back to the form. A job that was paused stays open."""
        self.bench.put_away()
        self.look_for_open_jobs()
        self.show_bench()
        self.focus_form()

    def action_plot(self) -> None:
        """Change between table and plot, where there is no room for both."""
        self.toggle_class("-plot")


def _head(progress: Progress) -> Content:
    """How far it is, how long it will take, and the name under which the records keep it."""
    done = progress.answered / max(progress.outline.requests, 1)
    bar = "━" * round(done * _BAR) + "─" * (_BAR - round(done * _BAR))
    readings = f"  {progress.readings} of {progress.outline.readings} readings   {time_left(progress)}"
    return Content.assemble((bar, "$primary"), readings, (f"   {progress.job}", "$secondary"))
