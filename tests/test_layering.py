"""The arrows between packages: from the sources, and from what an import really loads.

    shared_calc → the language · scalewright_device → shared_calc · virtual_scale → both · scalewright → shared_calc

Every module is found by itself, so one that comes later is held to the same rules.
"""

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

# MicroPython's own modules that a device file may import; pins and peripherals only where a board is put together.
LANGUAGE = {"math", "struct", "binascii"}
MICROPYTHON = LANGUAGE | {"array", "collections", "errno", "gc", "io", "micropython", "os", "select", "sys", "time"}
PERIPHERALS = {"machine", "rp2", "esp32", "pyb", "onewire"}
DEVICE_MAY_IMPORT = {  # the longest matching path decides
    "shared_calc": LANGUAGE | {"shared_calc"},
    "firmware": MICROPYTHON | {"board", "main", "scalewright_device"},  # programs of the board's root
    "firmware/scalewright_device": MICROPYTHON | {"scalewright_device", "shared_calc"},
    "firmware/scalewright_device/boards": MICROPYTHON | PERIPHERALS | {"scalewright_device", "shared_calc"},
    "firmware/virtual_scale": MICROPYTHON | {"virtual_scale", "scalewright_device", "shared_calc"},
    "firmware/virtual_scale/run_on_micropython.py": MICROPYTHON | {"virtual_scale", "scalewright_device", "main"},
    # The pyserial handler runs on the PC only.
    "firmware/virtual_scale/protocol_virtual.py": set(sys.stdlib_module_names)
    | {"serial", "virtual_scale", "scalewright_device"},
}

HOME = {  # of each heavy library within scalewright: nothing else may import it
    "serial": "link",
    "numpy": "analysis",
    "scipy": "analysis",
    "sqlalchemy": "records",
    "textual": "terminal",
    "textual_plot": "terminal",
    "typst": "certificates",
    "jinja2": "certificates",
    "lxml": "certificates",
    "matplotlib": "plots",
}
FRONT_DOORS = {"command_line", "terminal"}  # may import everything; only __main__ imports them
OPENS_THE_SCREENS = "terminal.py"  # of command_line; the one way from one front door to the other
# Heavy libraries that importing a module may bring along; the longest matching name decides. Its group loads them once.
MAY_LOAD = {
    "scalewright.analysis": {"numpy", "scipy", "scipy.signal"},
    "scalewright.certificates": {"typst", "jinja2", "lxml", "sqlalchemy"},
    "scalewright.command_line": HOME.keys() - {"textual", "textual_plot"},
    "scalewright.command_line.main": set(),
    "scalewright.examples": {"numpy", "scipy"},
    "scalewright.link": {"serial"},
    "scalewright.procedures.perform": {"serial"},
    "scalewright.records": {"sqlalchemy"},
    "scalewright.terminal": set(HOME),
    "virtual_scale.protocol_virtual": {"serial"},
}
# These need a board, or run a program when they are imported, as all in the board's root do.
NOT_IMPORTABLE = ("scalewright_device.boards.", "virtual_scale.run_on_micropython")

# One process for each module, forked from one that holds only what its group may load; prints what else came along.
IMPORT_EACH = """
import importlib.util, json, os, sys
sys.path[:0], groups, heavy = json.loads(sys.argv[1])
for allowed, modules in groups:
    if os.fork() == 0:
        for library in filter(importlib.util.find_spec, allowed):
            __import__(library)
        for module in modules:
            if os.fork() == 0:
                __import__(module)
                others = [name for name in heavy if name in sys.modules and name not in allowed]
                print(json.dumps([module, others]), flush=True)
                os._exit(0)  # at once: taking scipy apart is slow
            if os.wait()[1]:
                sys.exit(f"import {module} failed")
        sys.exit()
    if os.wait()[1]:
        sys.exit(1)
"""


def sources(folder: str) -> list[Path]:
    files = sorted((ROOT / folder).rglob("*.py"))
    assert files, f"nothing found in {folder}"
    return files


def imported(file: Path) -> Iterator[str]:
    """Every module a file imports, wherever in the file."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        match node:
            case ast.Import(names=names):
                yield from (alias.name for alias in names)
            case ast.ImportFrom(level=0, module=str(module), names=names):
                yield from (f"{module}.{alias.name}" for alias in names)
            case ast.ImportFrom():
                pytest.fail(f"{file}:{node.lineno}: imports within the project are absolute")


def longest_match(name: str, table: dict[str, set[str]], separator: str) -> set[str]:
    keys = [key for key in table if f"{name}{separator}".startswith(f"{key}{separator}")]
    return table[max(keys, key=len)] if keys else set()


@pytest.mark.parametrize("folder", ["shared_calc", "firmware"])
def test_device_code_imports_only_what_lies_below_it(folder: str) -> None:
    for file in sources(folder):
        path = file.relative_to(ROOT).as_posix()
        allowed = longest_match(path, DEVICE_MAY_IMPORT, "/")
        assert {name.split(".")[0] for name in imported(file)} - allowed == set(), path


def test_the_host_reaches_the_device_by_the_link_only() -> None:
    for file in sources("host"):
        tops = {name.split(".")[0] for name in imported(file)}
        assert tops & {"scalewright_device", "virtual_scale", "board", "main", "tests", "benchmarks"} == set(), file


def test_each_heavy_library_is_imported_from_its_home_only() -> None:
    for file in sources("host/scalewright"):
        part = file.relative_to(ROOT / "host/scalewright").parts[0]
        strangers = [name for name in imported(file) if HOME.get(name.split(".")[0], part) != part]
        assert strangers == [], file


def test_nothing_but_the_entry_point_imports_a_front_door() -> None:
    for file in sources("host/scalewright"):
        part = file.relative_to(ROOT / "host/scalewright").parts[0]
        doors = {name.split(".")[1] for name in imported(file) if name.startswith("scalewright.")} & FRONT_DOORS
        if file.parent.name == "command_line" and file.name == OPENS_THE_SCREENS:
            doors -= {"terminal"}
        assert doors <= {part} or part == "__main__.py", file


def module_names() -> Iterator[str]:
    for folder in ("host/scalewright", "firmware/scalewright_device", "firmware/virtual_scale", "shared_calc"):
        for file in sources(folder):
            place = file.relative_to(ROOT / folder).with_suffix("").parts
            name = ".".join((Path(folder).name, *place)).removesuffix(".__init__")
            if not name.startswith(NOT_IMPORTABLE):
                yield name


def test_importing_a_module_loads_no_heavy_library_but_its_own() -> None:
    """Each module is imported in a fresh process; this also shows that it can be imported by itself."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for module in module_names():
        groups.setdefault(tuple(sorted(longest_match(module, MAY_LOAD, "."))), []).append(module)
    paths = [str(ROOT / folder) for folder in ("host", "firmware", "")]
    command = [sys.executable, "-c", IMPORT_EACH, json.dumps([paths, list(groups.items()), list(HOME)])]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stderr
    came_along = dict(map(json.loads, done.stdout.splitlines()))
    assert [module for module, libraries in came_along.items() if libraries] == []
    assert came_along.keys() == {module for group in groups.values() for module in group}
