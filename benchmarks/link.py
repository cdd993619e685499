"""What the link carries: an hour of readings at 115200 baud, the fastest converter on USB, and a round trip.

    python benchmarks/link.py

An hour is an hour of the device's own time. The round trip is measured with the real MicroPython at the other end of a
pseudo-terminal, as a ratio to that of a bare line through the same kind of terminal.
"""

import os
import pty
import threading
import time
import tty
from contextlib import closing
from itertools import islice
from statistics import median

from scalewright.link.scale import Scale
from shared_calc import link_frame

HOUR_S = 3600


def stream(url: str, readings: int) -> None:
    """Take a stream of readings and print what was lost of it, and how full the line was."""
    with Scale.open(url) as scale, closing(scale.readings()) as readings_of_the_scale:
        taken = list(islice(readings_of_the_scale, readings))
        missed = scale.conversation.readings_missed
    device_s = (taken[-1].time_ms - taken[0].time_ms) / 1000
    rate = (len(taken) - 1) / device_s
    last = taken[-1]
    text = f"{last.number},{last.time_ms},{last.counts},,{last.temperature_c},{last.faults}"
    line = len(link_frame.encode(None, text)) + 2
    share = f"{line * rate * 10 / 115200:.0%} of 115200 baud"
    print(f"  {len(taken)} readings in {device_s:.0f} s of device time: {rate:.1f} a second, {missed} lost; "
          f"{line} bytes a line, {share}")


def round_trip(ask: object, times: int = 300) -> float:
    """Return the median seconds of a call."""
    taken = []
    for _ in range(times):
        began = time.perf_counter()
        ask()  # type: ignore[operator]
        taken.append(time.perf_counter() - began)
    return median(taken)


def bare_round_trip() -> float:
    """Return the median seconds of one byte there and back through a pseudo-terminal, answered by a thread."""
    far, near = pty.openpty()
    tty.setraw(near)

    def answer() -> None:
        while os.read(far, 1) != b"\0":
            os.write(far, b"y")

    thread = threading.Thread(target=answer)
    thread.start()
    seconds = round_trip(lambda: (os.write(near, b"x"), os.read(near, 1)))
    os.write(near, b"\0")
    thread.join()
    return seconds


if __name__ == "__main__":
    print("HX711 at 80 a second, 115200 baud, one hour")
    stream("virtual://line?speed=0&rate=80&baud=115200", HOUR_S * 80)
    print("NAU7802 at 320 a second, USB, one minute")
    stream("virtual://usb?speed=0&adc=nau7802&rate=320", 60 * 320)
    floor = bare_round_trip()
    with Scale.open("virtual://trip?speed=0&rate=80&runtime=micropython") as scale:
        for command in ("*OPC?", "READ?"):
            seconds = round_trip(lambda command=command: scale.ask(command))
            ratio = f"{seconds / floor:.0f} x a byte through a pty"
            print(f"{command:6} on real MicroPython: {seconds * 1e3:.2f} ms, {ratio}")
