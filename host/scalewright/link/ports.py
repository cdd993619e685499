"""Which ports there are, and opening one by URL: a device name, virtual://, socket://."""

from dataclasses import dataclass

import serial
from serial.tools import list_ports

from scalewright.errors import LinkError

VIRTUAL = "virtual://bench"
BAUD = 115200

# The virtual scale is reached by URL only; pyserial imports its package when somebody opens virtual://.
if "virtual_scale" not in serial.protocol_handler_packages:
    serial.protocol_handler_packages.append("virtual_scale")


@dataclass(frozen=True)
class Port:
    """A port that may have a scale behind it."""

    url: str
    description: str
    is_usb: bool
    """Boards with a USB identity are worth trying; a bare serial line is not opened unasked."""


def find_ports() -> list[Port]:
    """Return the ports of this machine, USB first, and the virtual scale at the end."""
    found = [Port(port.device, port.description, port.vid is not None) for port in list_ports.comports()]
    found.sort(key=lambda port: (not port.is_usb, port.url))
    return [*found, Port(VIRTUAL, "virtual scale", False)]


def open_port(url: str) -> serial.SerialBase:
    """Open a port for this program alone. Raises LinkError with the cause and the cure."""
    try:
        if "://" in url:
            return serial.serial_for_url(url, BAUD)
        return serial.serial_for_url(url, BAUD, exclusive=True)
    except (serial.SerialException, OSError, ValueError) as error:
        raise LinkError(f"cannot be opened: {error}", port=url, remedy=_remedy(error)) from error


def _remedy(error: Exception) -> str:
    text = str(error).lower()
    seen = ", ".join(port.url for port in find_ports())
    if "permission" in text or "access is denied" in text:
        return "your user may not open serial ports: join the group that owns the port (often dialout), log in again"
    if "lock" in text or "busy" in text:
        return "another program has it open"
    return f"ports seen: {seen}"
