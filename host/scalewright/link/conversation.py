"""The host's side of the link, without a port or a clock: bytes in, events out; commands in, bytes out.

One request is outstanding at a time. Lines that are damaged, or that answer an older request, are counted and dropped;
readings that arrive unasked are events of their own, and a hole in their numbers is counted.
"""

from dataclasses import dataclass

from scalewright.link.reading import Reading
from shared_calc import link_frame
from shared_calc.reading import ReadingError

MAX_LINE_BYTES = 512


@dataclass(frozen=True)
class Answered:
    """The outstanding request was carried out."""

    text: str


@dataclass(frozen=True)
class Refused:
    """The outstanding request was not carried out: an SCPI error number and its text."""

    code: int
    text: str


@dataclass(frozen=True)
class RequestDamaged:
    """A request arrived damaged at the device: send it again."""


Event = Answered | Refused | RequestDamaged | Reading


class Conversation:
    """What has been asked and what has come back."""

    def __init__(self) -> None:
        self.damaged_lines = 0
        self.readings_missed = 0
        self._sequence = link_frame.RESYNCHRONISE
        self._outstanding: int | None = None
        self._frame = b""
        self._received = b""
        self._last_reading_number: int | None = None

    def open(self, command: str) -> bytes:
        """Return the bytes of the first request; the device forgets what an earlier host asked."""
        self._sequence = link_frame.RESYNCHRONISE
        self._last_reading_number = None
        # The line end before it closes whatever half line the device may have received.
        return b"\n" + self._begin(command)

    def ask(self, command: str) -> bytes:
        """Return the bytes of a new request. Whatever was outstanding is given up."""
        self._sequence = self._sequence % link_frame.LAST_SEQUENCE + 1
        return self._begin(command)

    def repeat(self) -> bytes:
        """Return the bytes of the outstanding request once more; the device will not carry it out twice."""
        return self._frame

    def receive(self, data: bytes) -> list[Event]:
        """Take bytes as they come and return what they amount to."""
        *lines, self._received = (self._received + data).split(b"\n")
        if len(self._received) > MAX_LINE_BYTES:  # noise without line ends must not fill the memory
            self._received = b""
            self.damaged_lines += 1
        events = (self._take(line.strip(b"\r")) for line in lines)
        return [event for event in events if event is not None]

    def _begin(self, command: str) -> bytes:
        self._outstanding = self._sequence
        self._frame = (link_frame.encode(self._sequence, command) + "\n").encode("ascii")
        return self._frame

    def _take(self, line: bytes) -> Event | None:
        if not line:
            return None
        try:
            sequence, text = link_frame.decode(line.decode("ascii"))
            if sequence is None:
                return self._take_unasked(text)
        except (link_frame.FrameError, ReadingError, UnicodeDecodeError):
            self.damaged_lines += 1
            return None
        if sequence != self._outstanding:
            return None  # the answer to a repeat of something already answered
        self._outstanding = None
        return _refused(text) if text.startswith("!") else Answered(text)

    def _take_unasked(self, text: str) -> Event:
        if text.startswith("!"):
            return RequestDamaged()
        reading = Reading.from_text(text)
        if self._last_reading_number is not None:
            self.readings_missed += max(reading.number - self._last_reading_number - 1, 0)
        self._last_reading_number = reading.number
        return reading


def _refused(text: str) -> Refused:
    code, _, description = text[1:].partition(",")
    return Refused(int(code), description.strip('"'))
