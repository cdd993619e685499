"""A scale at the end of a line, as a blocking object."""

import time
from collections.abc import Generator
from dataclasses import dataclass
from types import TracebackType

import serial

from scalewright.errors import DeviceFault, LinkError
from scalewright.link.conversation import Answered, Conversation, Event, Refused
from scalewright.link.ports import open_port
from scalewright.link.reading import Reading

TRIES = 4
ANSWER_TIMEOUT_S = 1.0
OPENING_TIMEOUT_S = 5.0
SILENCE_TIMEOUT_S = 3.0
"""The device reports a silent ADC every second; three seconds without a line mean that the line is lost."""


@dataclass(frozen=True)
class Identity:
    """What a device says of itself."""

    model: str
    serial_number: str
    firmware: str
    coefficients: str
    """CRC-32 that names the coefficients in use, or "none"."""
    events: int
    """How often something happened that trust depends on, such as a change of coefficients; never reset."""


class Scale:
    """Asks and is answered; repeats what was lost; hands out readings in order.

    Every method raises LinkError where the line is lost, and DeviceFault where the device refuses.
    """

    def __init__(self, port: serial.SerialBase, url: str, timeout_s: float = OPENING_TIMEOUT_S) -> None:
        self.url = url
        self.conversation = Conversation()
        self._port = port
        self._readings: list[Reading] = []
        self._answer(self.conversation.open("*RST"), "*RST", timeout_s)
        self._readings.clear()
        self.identity = self.identify()

    @classmethod
    def open(cls, url: str, timeout_s: float = OPENING_TIMEOUT_S) -> "Scale":
        """Open the port and wait for the device, which opening may have restarted, TRIES times timeout_s."""
        port = open_port(url)
        try:
            return cls(port, url, timeout_s)
        except BaseException:
            port.close()
            raise

    def __enter__(self) -> "Scale":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let the port go."""
        self._port.close()

    def reconnect(self, timeout_s: float = OPENING_TIMEOUT_S) -> None:
        """Find the same scale again after it was switched off or unplugged, TRIES times timeout_s.

        Raises LinkError also where another scale answers, by its serial number.
        """
        try:
            self._answer(self.conversation.open("*RST"), "*RST", timeout_s)
        except LinkError:
            self._port.close()
            self._port = open_port(self.url)
            self._answer(self.conversation.open("*RST"), "*RST", timeout_s)
        self._readings.clear()
        expected, self.identity = self.identity, self.identify()
        if self.identity.serial_number != expected.serial_number:
            found, wanted = self.identity.serial_number, expected.serial_number
            raise LinkError(f"another scale answers: number {found}, not {wanted}", port=self.url)

    def ask(self, command: str, timeout_s: float = ANSWER_TIMEOUT_S) -> str:
        """Return the answer to a command, "" where it has nothing to say. timeout_s: for each of TRIES tries."""
        return self._answer(self.conversation.ask(command), command, timeout_s)

    def identify(self) -> Identity:
        """Ask who is there."""
        text = self.ask("*IDN?")
        try:
            _, model, serial_number, rest = text.split(",")
            firmware, *properties = rest.split(" ")
            named = dict(item.split("=") for item in properties)
            return Identity(model, serial_number, firmware, named["coefficients"], int(named["events"]))
        except (ValueError, KeyError) as error:
            raise LinkError(f"another instrument answers: {text[:80]}", port=self.url) from error

    def read(self) -> Reading:
        """Return the next reading."""
        return Reading.from_text(self.ask("READ?", SILENCE_TIMEOUT_S))

    def readings(self) -> Generator[Reading, None, None]:
        """Yield every reading from now on, without end; close the iterator to stop."""
        self.ask("INITiate:CONTinuous ON")
        try:
            while True:
                while not self._readings:
                    events = self._receive(SILENCE_TIMEOUT_S)
                    if events is None:
                        raise self._lost(f"no reading for {SILENCE_TIMEOUT_S:g} s")
                    self._readings += [event for event in events if isinstance(event, Reading)]
                yield self._readings.pop(0)
        finally:
            self.ask("INITiate:CONTinuous OFF")
            self._readings.clear()

    def store_coefficients(self, data: bytes) -> None:
        """Store an encoded coefficient record in the device."""
        self.ask(f'CALibration:DATA "{data.hex()}"')
        self.identity = self.identify()

    def read_coefficients(self) -> bytes:
        """Return the encoded coefficient record that the device uses, read from its store."""
        return bytes.fromhex(self.ask("CALibration:DATA?").strip('"'))

    def _answer(self, frame: bytes, command: str, timeout_s: float) -> str:
        """Send a request, and again when nothing comes or it arrived damaged."""
        for _ in range(TRIES):
            self._send(frame)
            outcome = self._await_answer(timeout_s)
            if isinstance(outcome, Answered):
                return outcome.text
            if isinstance(outcome, Refused):
                raise DeviceFault(command, outcome.code, outcome.text)
            frame = self.conversation.repeat()
        raise LinkError(
            f"no answer to {command!r} in {TRIES} tries of {timeout_s:g} s",
            port=self.url,
            remedy="check that the scale is powered and runs its firmware, and that this is its port",
        )

    def _await_answer(self, timeout_s: float) -> Event | None:
        """Return what became of the request; None where nothing came in time."""
        deadline = time.monotonic() + timeout_s
        while time.monotonic() < deadline:
            events = self._receive(timeout_s)
            self._readings += [event for event in events or () if isinstance(event, Reading)]
            outcomes = [event for event in events or () if not isinstance(event, Reading)]
            if outcomes or events is None:
                return outcomes[0] if outcomes else None
        return None

    def _receive(self, timeout_s: float) -> list[Event] | None:
        """Return the events in the next bytes; None where no byte came in time, by the port's own clock."""
        try:
            if self._port.timeout != timeout_s:
                self._port.timeout = timeout_s
            data = self._port.read(max(1, self._port.in_waiting))
        except (serial.SerialException, OSError) as error:
            raise self._lost(error) from error
        return self.conversation.receive(data) if data else None

    def _send(self, data: bytes) -> None:
        try:
            self._port.write(data)
        except (serial.SerialException, OSError) as error:
            raise self._lost(error) from error

    def _lost(self, cause: object) -> LinkError:
        return LinkError(f"the line was lost: {cause}", port=self.url, remedy="check the cable and the power")
