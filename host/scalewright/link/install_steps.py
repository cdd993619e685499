"""What is run on a board and written to it, in which order, and what it must hold afterwards."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from scalewright.link.board_shell import Step
from scalewright.link.board_state import INSPECT, MARKER, BoardState, Files, Marker
from scalewright.link.bytecode import BoardFile
from scalewright.link.install_plan import KEPT_MAIN, MAIN, Plan

_NEW_MAIN = "main_new.py"

_PREPARE = """
import os
def unless(number, do, path):
    try:
        do(path)
    except OSError as error:
        if error.errno != number:
            raise
for path in {removed}:
    unless(2, os.remove, path)
for path in {folders}:
    unless(17, os.mkdir, path)
print("=> None")
"""
_LOAD = """
import sys
sys.path.insert(0, "{folder}")
for name in {modules}:
    __import__(name)
print("=> None")
"""
_REPLACE_MAIN = """
import binascii, hashlib, os
with open("{new}", "rb") as file:
    is_whole = binascii.hexlify(hashlib.sha256(file.read()).digest()) == b"{sha256}"
if is_whole and {keeps}:
    with open("{main}", "rb") as file, open("{kept}", "wb") as kept:
        chunk = file.read(512)
        while chunk:
            kept.write(chunk)
            chunk = file.read(512)
if is_whole:
    os.rename("{new}", "{main}")
print("=>", is_whole)
"""
START = """
import sys
sys.path.insert(0, "{folder}")
import main
"""
"""Starts a version by hand, so that what keeps it from starting is seen."""


def writing(here: str, plan: Plan) -> list[Step]:
    """Return the steps that make the plan's folder just what it should be. The last one inspects the board.

    Its marker is removed first: from then on the folder holds no version until a new marker is written.
    """
    removed = [f"{here}{plan.folder}/{path}" for path in (MARKER, *plan.to_remove)]
    folders = [f"{here}{folder}" for folder in plan.folders()]
    files = [replace(file, path=f"{here}{plan.folder}/{file.path}") for file in plan.to_copy]
    return [_PREPARE.format(removed=removed, folders=folders), *files, INSPECT]


@dataclass(frozen=True)
class Switch:
    """The steps that put a version into use, and what the board must hold after them."""

    steps: Sequence[Step]
    folder: str
    marker: Marker
    root: Files

    def differences(self, after: BoardState) -> list[str]:
        """Return the files that are not what they must be."""
        names = [name for name, found in self.root.items() if after.root.get(name) != found]
        return names if after.installed().get(self.folder) == self.marker else [*names, f"{self.folder}/{MARKER}"]


def switch_to(plan: Plan, state: BoardState, imports: Sequence[str]) -> Switch:
    """Return how the version of a plan is put into use, with the main.py that heeds the markers.

    imports: the names that the version's main.py imports. A version that the board cannot load ends before its marker.
    """
    steps: list[Step] = []
    if plan.is_in_use:
        marker = state.installed()[plan.folder]
    else:
        marker = Marker(state.next_sequence(), plan.version, plan.board, plan.image.digest)
        modules = sorted({name.rpartition(".")[0] for name in imports})
        steps = [_LOAD.format(folder=state.here + plan.folder, modules=modules), _file_of(marker, plan.folder, state)]
    root: Mapping[str, tuple[int, str]] = state.root
    if MAIN not in root or root[MAIN][1] != plan.main.sha256:
        steps += _replacing_main(plan, state.here)
        root = {**root, **({KEPT_MAIN: root[MAIN]} if plan.keeps_main else {})}
        root = {**root, MAIN: (len(plan.main.content), plan.main.sha256)}
    return Switch(steps, plan.folder, marker, root)


def switch_back(state: BoardState, folder: str) -> Switch:
    """Return how the version that lies in a folder is put into use again."""
    marker = replace(state.installed()[folder], sequence=state.next_sequence())
    return Switch([_file_of(marker, folder, state)], folder, marker, state.root)


def _replacing_main(plan: Plan, here: str) -> list[Step]:
    """Return the steps that put main.py in place: on littlefs2 a cut leaves the old one or the new one."""
    paths = {"new": here + _NEW_MAIN, "main": here + MAIN, "kept": here + KEPT_MAIN}
    program = _REPLACE_MAIN.format(**paths, sha256=plan.main.sha256, keeps=plan.keeps_main)
    return [BoardFile(paths["new"], plan.main.content), program]


def _file_of(marker: Marker, folder: str, state: BoardState) -> BoardFile:
    return BoardFile(f"{state.here}{folder}/{MARKER}", marker.encode())
