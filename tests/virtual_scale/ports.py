"""Opening virtual ports and talking to them in bare lines, as a person with a terminal does."""

import serial

from virtual_scale import protocol_virtual  # noqa: F401  pyserial hides an ImportError in it; this does not

if "virtual_scale" not in serial.protocol_handler_packages:
    serial.protocol_handler_packages.append("virtual_scale")


def open_port(name="bench", timeout=20, **options):
    """Return a port that runs freely unless another speed is given."""
    options = {"speed": 0, "rate": 80, **options}
    query = "&".join(f"{key}={value}" for key, value in options.items())
    return serial.serial_for_url(f"virtual://{name}?{query}", timeout=timeout)


def line_from(port):
    """Return the next line."""
    line = port.read_until(b"\n")
    assert line.endswith(b"\r\n"), f"no line but {line!r}"
    return line[:-2].decode()


def ask(port, command):
    """Send a command and return the line that answers it."""
    port.write(command.encode() + b"\n")
    return line_from(port)


def tell(port, *commands):
    """Send commands that have no answer, and see that none was refused."""
    for command in commands:
        port.write(command.encode() + b"\n")
    assert ask(port, "*OPC?") == "1"


def read_counts(port, number):
    """Return the counts of so many readings in a row, None where there are none."""
    fields = [ask(port, "READ?").split(",") for _ in range(number)]
    return [int(field[2]) if field[2] else None for field in fields]


def settled_counts(port):
    """Return the counts once the ADC's filter holds nothing of what was before."""
    return read_counts(port, 5)[-1]


def flags(port):
    return ask(port, "READ?").split(",")[5]
