"""What a board is and what it holds, found out by a short program that runs on it."""

from binascii import crc32
from collections.abc import Mapping
from dataclasses import dataclass

from scalewright.link.board_shell import BoardShell, BoardSilent
from scalewright.link.bytecode import digest_of

VERSION_FOLDERS = ("version_a", "version_b")  # as firmware/choose_version.py has them, and so the marker
MARKER = "installed.txt"
FIRST_BYTES = 64  # of main.py, to see whose it is

INSPECT = f"""
import binascii, hashlib, os, sys
def describe(path):
    h = hashlib.sha256()
    buffer = bytearray(512)
    with open(path, "rb") as file:
        size = 0
        n = 1
        while n:
            n = file.readinto(buffer)
            h.update(memoryview(buffer)[:n])
            size += n
    return size, binascii.hexlify(h.digest()).decode()
def describe_all(folder, name, deep):
    found = {{}}
    for entry in os.ilistdir(folder + name):
        path = name + entry[0]
        if entry[1] != 0x4000:
            found[path] = describe(folder + path)
        elif deep:
            found.update(describe_all(folder, path + "/", True))
    return found
def content(path, size):
    try:
        with open(path, "rb") as file:
            return file.read(size)
    except OSError as error:
        if error.errno != 2:
            raise
    return b""
here = os.getcwd().rstrip("/") + "/"
folders = [folder for folder in {VERSION_FOLDERS} if folder in os.listdir(here)]
this = sys.implementation
space = os.statvfs(here)
print("=> " + repr({{
    "implementation": this.name,
    "micropython": tuple(this.version[:3]),
    "machine": getattr(this, "_machine", sys.platform),
    "platform": sys.platform,
    "mpy": getattr(this, "_mpy", None),
    "here": here,
    "block_bytes": space[0],
    "free_blocks": space[3],
    "root": describe_all(here, "", False),
    "versions": {{folder: describe_all(here + folder + "/", "", True) for folder in folders}},
    "markers": {{folder: content(here + folder + "/{MARKER}", 200) for folder in folders}},
    "main_begins": content(here + "main.py", {FIRST_BYTES}),
}}))
"""

Files = Mapping[str, tuple[int, str]]
"""Path → size in bytes and SHA-256."""


@dataclass(frozen=True)
class Marker:
    """What installed.txt says of the version beside it."""

    sequence: int
    version: str
    board: str
    digest: str

    def encode(self) -> bytes:
        """Return the file's content."""
        text = f"{self.sequence} {self.version} {self.board} {self.digest}".encode()
        return text + f" {crc32(text):08X}\n".encode()

    @classmethod
    def decode(cls, content: bytes) -> "Marker | None":
        """Return what the file says, None where it is not whole."""
        text, _, check = content.strip().rpartition(b" ")
        try:
            sequence, version, board, digest = text.decode("ascii").split(" ")
            return cls(int(sequence), version, board, digest) if int(check, 16) == crc32(text) else None
        except ValueError:
            return None


@dataclass(frozen=True)
class BoardState:
    """A board at its prompt."""

    implementation: str
    micropython: tuple[int, ...]
    machine: str
    platform: str
    mpy: int | None
    """`sys.implementation._mpy`: the format of .mpy files that it takes; None: it takes none."""
    here: str
    """Where main.py is, with a final /, and called the root here: "/", on STM32 boards "/flash/"."""
    block_bytes: int
    free_blocks: int
    root: Files
    """The files in the root, coefficients among them."""
    versions: Mapping[str, Files]
    """For each version's folder that is there: its files."""
    markers: Mapping[str, bytes]
    main_begins: bytes
    """The first bytes of main.py, b"" where there is none."""

    def installed(self) -> dict[str, Marker]:
        """Return folder → marker of each version that was written to its end."""
        decoded = {folder: Marker.decode(content) for folder, content in self.markers.items()}
        return {folder: marker for folder, marker in decoded.items() if marker}

    def current(self) -> str | None:
        """Return the folder in use."""
        installed = self.installed()
        return max(installed, key=lambda folder: installed[folder].sequence, default=None)

    def in_use(self) -> Marker | None:
        """Return the marker of the version in use."""
        current = self.current()
        return self.installed()[current] if current else None

    def spare(self) -> str:
        """Return the folder that is not in use."""
        return VERSION_FOLDERS[1] if self.current() == VERSION_FOLDERS[0] else VERSION_FOLDERS[0]

    def next_sequence(self) -> int:
        """Return a number higher than any there is."""
        return 1 + max((marker.sequence for marker in self.installed().values()), default=0)

    def files_in(self, folder: str) -> dict[str, tuple[int, str]]:
        """Return the files of a version, its marker left out."""
        return {path: found for path, found in self.versions.get(folder, {}).items() if path != MARKER}

    def holds(self, folder: str, digest: str) -> bool:
        """Are the files in a version's folder just those that have this digest?"""
        return digest_of({path: sha256 for path, (_, sha256) in self.files_in(folder).items()}) == digest


def inspect(shell: BoardShell) -> BoardState:
    """Return what the board is and holds."""
    expected = "the board to say what it is"
    try:
        found = shell.evaluate(INSPECT, expected)
    except BoardSilent:  # mpremote waits for ever where a byte of its greeting was lost; to look twice does no harm
        shell.interrupt()
        found = shell.evaluate(INSPECT, expected)
    return BoardState(**found)
