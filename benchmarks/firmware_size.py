"""What the firmware takes on a board: flash for each module, compiled, and heap once it runs.

    python benchmarks/firmware_size.py [BOARD]

The heap is measured on MicroPython's unix port, where words have 64 bits. A board with 32 needs about two thirds of it:
where this takes 91 kB, the WebAssembly build of MicroPython 1.27 takes 61 kB. Nothing is connected to pins and buses.
The least heap is the smallest with which it loads, starts and answers.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "host")]

from scalewright.link.bytecode import NEWEST_FORMAT, Image, compile_image  # noqa: E402
from scalewright.link.firmware_files import Firmware  # noqa: E402
from tests.on_micropython.runtimes import installed  # noqa: E402

STEPS = 50
START = f"""
import gc
gc.collect()
before = gc.mem_alloc()
import board
from scalewright_device.device import Device
gc.collect()
loaded = gc.mem_alloc()
parts = board.assemble()
parts.folder = ""  # not the PC's first folder
device = Device(parts)
for _ in range({STEPS}):
    device.step()
device._answer("*IDN?", -1)
gc.collect()
print(loaded - before, gc.mem_alloc() - before, gc.mem_free())
"""


def start(image: Image, heap_kb: int) -> list[int] | None:
    """Return heap taken by the modules, heap taken once it runs, and what is free; None where the heap is too small."""
    with tempfile.TemporaryDirectory() as folder:
        for file in image.files:
            target = Path(folder) / file.path
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(file.content)
        command = [installed("micropython") or "micropython", "-X", f"heapsize={heap_kb}K", "-c", START]
        paths = os.pathsep.join([folder, str(ROOT / "tests/on_micropython/board"), ".frozen"])
        done = _run(command, folder, paths)
    if "MemoryError" in done.stdout + done.stderr or done.returncode < 0:
        return None
    if done.returncode:
        sys.exit(done.stdout + done.stderr)
    return [int(word) for word in done.stdout.split()]


def _run(command: list[str], folder: str, paths: str) -> subprocess.CompletedProcess[str]:
    """Run it with a console on which nothing is typed."""
    console, held = os.pipe()
    try:
        return subprocess.run(
            command, env={"MICROPYPATH": paths}, cwd=folder, stdin=console, capture_output=True, text=True, check=False
        )
    finally:
        os.close(console)
        os.close(held)


def main(board: str) -> None:
    sources = Firmware.installed().files_for(board)
    image = compile_image(sources, NEWEST_FORMAT)
    print(f"{board}, {image.format}: bytes compiled, and of the source")
    for file, source in zip(image.files, sources.values(), strict=True):
        print(f"{len(file.content):7} {source.stat().st_size:7}  {file.path}")
    print(f"{sum(len(file.content) for file in image.files):7} {sum(s.stat().st_size for s in sources.values()):7}")
    measured = start(image, 1024)
    if measured is None:
        sys.exit("it does not start with a heap of 1 MB")
    print(f"heap, 64 bits: modules {measured[0]} bytes, with the device running {measured[1]} bytes")
    least = next((kb for kb in range(16, 1024, 4) if start(image, kb)), None)
    free = {kb: measured[2] for kb in (64, 96, 128, 192, 256) if (measured := start(image, kb))}
    print(f"least heap, 64 bits: {least} kB; then free:", ", ".join(f"{free[kb]} bytes of {kb} kB" for kb in free))


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "rp2")
