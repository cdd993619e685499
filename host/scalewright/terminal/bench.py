"""What the screens share: the scale on the line, its last reading, and the readings of the last minutes."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from scalewright.records import DEFAULT_FILE
from scalewright.terminal.line import CLOSED, LIVE, Line
from scalewright.terminal.progress import Progress
from scalewright.terminal.trace import Trace

if TYPE_CHECKING:
    from concurrent.futures import Future

    from scalewright.link.ports import Port
    from scalewright.link.reading import Reading
    from scalewright.procedures.job import Circumstances, Job
    from scalewright.procedures.plans import Plan
    from scalewright.terminal.live_scale import LiveScale
    from scalewright.terminal.work import Work

NOT_CONNECTED = Line(CLOSED, "no scale yet")


def virtual_url(records: Path) -> str:
    """Return where the virtual scale is; what it stores stays beside the records, so that it wakes up calibrated."""
    from scalewright.link.ports import VIRTUAL

    return f"{VIRTUAL}?storage={records.absolute().with_name('virtual_scale')}"


def ports_of_this_machine() -> "list[Port]":
    """Return which there are; looking for them loads pyserial, which the first screen need not wait for."""
    from scalewright.link.ports import find_ports

    return find_ports()


@dataclass
class Bench:
    """The state of the work at hand. Screens read it, and change it by its methods only."""

    records: Path = Path(DEFAULT_FILE)
    """The journal."""
    live: "LiveScale | None" = None
    line: Line = NOT_CONNECTED
    latest: "Reading | None" = None
    trace: Trace = field(default_factory=Trace)
    work: "Work | None" = None
    """The job under way, or that has just ended."""
    progress: Progress | None = None
    """How it stands."""
    find_ports: "Callable[[], list[Port]]" = ports_of_this_machine
    """Which ports this machine has."""
    today: Callable[[], date] = lambda: datetime.now(UTC).date()
    """The day that due dates are counted from."""
    by: str = ""
    """Initials of whoever kept or began something last."""
    number_of_readings: int = 0
    """That came since the scale was connected."""

    @property
    def is_live(self) -> bool:
        """Do readings come?"""
        return self.line.state == LIVE

    @property
    def is_calibrated(self) -> bool:
        return self.line.record is not None

    @property
    def is_virtual(self) -> bool:
        """Is there no hardware, so that the program itself may place loads?"""
        return self.live is not None and self.live.url.startswith("virtual:")

    def connect(self, url: str) -> None:
        """Let any scale go and take the one at this URL; what comes of it is in the news."""
        from scalewright.terminal.live_scale import LiveScale

        self.let_go()
        self.live, self.latest, self.trace, self.number_of_readings = LiveScale(url), None, Trace(), 0
        self.live.start()

    def let_go(self) -> None:
        """Close the line."""
        if self.live is not None:
            self.live.stop()
            self.take_news()
        self.live, self.line = None, NOT_CONNECTED
        self.put_away()

    def begin(self, plan: "Plan", circumstances: "Circumstances | None" = None) -> "Future[Job]":
        """Begin a job; how it goes is in the news. Its ScalewrightError is the Future's."""
        assert self.live is not None
        from scalewright.terminal.work import Work  # brings the whole of the records along

        self.work = Work(self.live, self.records, plan, self.live.news.put, circumstances=circumstances)
        return self.go_on()

    def take_up(self, job_name: str) -> "Future[Job]":
        """Go on with a job that the journal holds."""
        assert self.live is not None
        from scalewright.terminal.work import Work

        self.work = Work(self.live, self.records, None, self.live.news.put, job_name=job_name)
        return self.go_on()

    def go_on(self) -> "Future[Job]":
        """Go on with the job that was paused."""
        assert self.live is not None
        assert self.work is not None
        return self.live.work(self.work)

    def put_away(self) -> None:
        """Forget the job that has ended, or that stays open in the journal."""
        self.work = self.progress = None

    def take_news(self) -> "tuple[list[Reading], Line | None]":
        """Return the readings that came since the last call and, if the line changed, what it is now."""
        readings: list[Reading] = []
        changed = None
        while self.live is not None and not self.live.news.empty():
            news = self.live.news.get()
            if isinstance(news, Line):
                changed = self.line = news
            elif isinstance(news, Progress):
                self.progress = news
            else:
                readings.append(news)
                self.trace.add(news, is_calibrated=self.is_calibrated)
        if readings:
            self.latest = readings[-1]
            self.number_of_readings += len(readings)
        return readings, changed
