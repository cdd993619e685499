"""What the screens share: the scale on the line, its last reading, and the readings of the last minutes."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from scalewright.link.ports import Port, find_ports
from scalewright.link.reading import Reading
from scalewright.records import DEFAULT_FILE
from scalewright.terminal.live_scale import CLOSED, LIVE, Line, LiveScale
from scalewright.terminal.trace import Trace

NOT_CONNECTED = Line(CLOSED, "no scale yet")


@dataclass
class Bench:
    """The state of the work at hand. Screens read it, and change it by its methods only."""

    records: Path = Path(DEFAULT_FILE)
    """The journal."""
    live: LiveScale | None = None
    line: Line = NOT_CONNECTED
    latest: Reading | None = None
    trace: Trace = field(default_factory=Trace)
    find_ports: Callable[[], list[Port]] = find_ports
    """Which ports this machine has."""
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
        self.let_go()
        self.live, self.latest, self.trace, self.number_of_readings = LiveScale(url), None, Trace(), 0
        self.live.start()

    def let_go(self) -> None:
        """Close the line."""
        if self.live is not None:
            self.live.stop()
            self.take_news()
        self.live, self.line = None, NOT_CONNECTED

    def take_news(self) -> tuple[list[Reading], Line | None]:
        """Return the readings that came since the last call and, if the line changed, what it is now."""
        readings: list[Reading] = []
        changed = None
        while self.live is not None and not self.live.news.empty():
            news = self.live.news.get()
            if isinstance(news, Line):
                changed = self.line = news
            else:
                readings.append(news)
                self.trace.add(news, is_calibrated=self.is_calibrated)
        if readings:
            self.latest = readings[-1]
            self.number_of_readings += len(readings)
        return readings, changed
