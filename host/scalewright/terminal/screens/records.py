"""Records: every job that was ever begun, what came of it, and the proof that nothing of it was changed."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import OptionList, Static

from scalewright.terminal.bench import Bench
from scalewright.terminal.certificate_form import Writing, issue_cells
from scalewright.terminal.facts import cut, text_of
from scalewright.terminal.screens.form import Cell
from scalewright.terminal.screens.frame import BenchScreen
from scalewright.terminal.screens.listing import Line, ListScreen
from scalewright.terminal.screens.verify import VerifyScreen

if TYPE_CHECKING:
    from scalewright.records.journal import Journal
    from scalewright.terminal.job_lines import JobLine, JobStory

_LOOK_AHEAD = 10
"""So many lines before the end of the list the next ones are read."""


class RecordsScreen(ListScreen):
    """The jobs, the newest first; older ones are read as one comes near them."""

    NAME = "records"
    HELP = """
Every job is here, the newest first: what was done, with which scale, when, by whom, and what came of it: passed,
FAILED, still open, or left without a result. Enter shows what was found beside what is allowed, and whatever was
decided against a warning, with the reason.

R goes on with an open job where it stands; the same scale must be connected. C writes the certificate of a finished
calibration as PDF, HTML, CSV, JSON or XML, by the name of the file.

V proves that nothing was changed: each entry holds the hash of the one before. A hash that was printed on a
certificate proves the end of the chain too: type it in when you are asked.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r", "resume", "Go on"),
        Binding("c", "certificate", "Certificate"),
        Binding("v", "verify", "Verify"),
        Binding("o", "only_open", "Open ones"),
    ]
    HEADINGS = f"{'begun, UTC':17}{'what':16}{'scale':17}{'by':7}result"
    FIRST_TIME = """
Nothing is recorded here yet.

Press 1 to connect a scale, then 3 to calibrate it: the job appears here from its first step on, and stays.
"""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self._only = "all"
        self._is_at_the_end = False

    def read_lines(self, journal: "Journal") -> Sequence[Line]:
        """Return the newest jobs."""
        return self._read_jobs(journal, None)

    def _read_jobs(self, journal: "Journal", before: int | None) -> Sequence[Line]:
        from scalewright.terminal.job_lines import newest_jobs

        return [Line(job.name, _line_of(job), job) for job in newest_jobs(journal, before, only=self._only)]

    def _add_older(self, lines: Sequence[Line]) -> None:
        self._is_at_the_end = not lines
        self.add_lines(lines)

    def read_up(self, journal: "Journal", key: str) -> object:
        """Return everything there is to say of one job."""
        from scalewright.terminal.job_lines import read_job

        return read_job(journal, key)

    def show_found(self, found: object) -> None:
        """Show it."""
        from scalewright.terminal.widgets.job_facts import facts_of

        story: JobStory = found  # type: ignore[assignment]
        self.query_one("#known", Static).update(text_of(facts_of(story)))

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """As every list; and near its end, read on."""
        super().on_option_list_option_highlighted(event)
        oldest: JobLine = self.lines[-1].about  # type: ignore[assignment]
        if not self._is_at_the_end and event.option_index >= len(self.lines) - _LOOK_AHEAD:
            self.read(lambda journal: self._read_jobs(journal, oldest.seq), self._add_older, "older")

    def look(self) -> None:
        """As every list; and there may be older ones."""
        self._is_at_the_end = False
        super().look()

    @property
    def job(self) -> "JobLine | None":
        """The job one is on."""
        job: JobLine | None = self.line.about if self.line else None  # type: ignore[assignment]
        return job

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only an open job can be gone on with, only one that ended has a certificate."""
        job = self.job
        if action == "resume":
            return job is not None and job.state == "open"
        if action == "certificate":
            return job is not None and job.state in ("passed", "FAILED")
        return super().check_action(action, parameters)

    def action_only_open(self) -> None:
        """List the open jobs only, or all again."""
        self._only = "open" if self._only == "all" else "all"
        self.say("Only the jobs that are still open. O shows all." if self._only == "open" else "")
        self.look()

    def action_resume(self) -> None:
        """Go on with an open job."""
        if not self.bench.is_live:
            self.say("Not done: no scale is on the line. Press 1, connect the scale of this job, and come back.")
        elif self.job is not None:
            self._take_up(self.job)

    @work
    async def _take_up(self, job: "JobLine") -> None:
        """Go to the screen that guides such a job; it goes on there, and there it is said where it cannot."""
        await self.app.switch_mode("calibrate" if job.what == "calibration" else "test")
        guiding = self.app.screen
        assert isinstance(guiding, BenchScreen)
        guiding.then(self.bench.take_up(job.name), lambda _: None)

    def action_verify(self) -> None:
        """Prove the chain."""
        self.app.push_screen(VerifyScreen(self.bench.records))

    def action_certificate(self) -> None:
        """Ask where to write it, and the first time what it is to say."""
        job, records = self.job, self.bench.records
        if job is not None:
            self.read(lambda journal: Writing.known(journal, job.name, records), self._ask_for_file, "certificate")

    def _ask_for_file(self, writing: Writing) -> None:
        async def keep(typed: Mapping[str, str]) -> str:
            return await self.write(lambda journal: writing.carry_out(journal, typed))

        title = f"Write certificate {writing.number}" if writing.number else "Issue a certificate"
        file = Cell("file", "file", f"{writing.number or 'certificate'}.pdf", "ends in .pdf .html .csv .json .xml")
        self.fill_in(title, [file] if writing.number else [*issue_cells(self.bench.by), file], keep)


def _line_of(job: "JobLine") -> Content:
    from scalewright.terminal.widgets.job_facts import state_words

    when = job.at[:16].replace("T", " ")
    text = f"{when:17}{cut(job.what, 15)} {cut(job.scale, 16)} {job.by:5}"
    return Content.assemble(text, state_words(job.state))
