"""The arrows between packages: from the sources, and from what an import really loads.

    shared_calc → the language · scalewright_device → shared_calc · virtual_scale → both · scalewright → shared_calc

Every module is found by itself, so one that comes later is held to the same rules.
"""

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from graphlib import TopologicalSorter
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

# Forked from a process that holds only what its group may load, one for each module that no other of the group has
# loaded before; prints what else came along, and which modules of the project.
IMPORT_EACH = """
import importlib.util, json, os, sys
sys.path[:0], groups, heavy = json.loads(sys.argv[1])
for allowed, modules in groups:
    if os.fork() == 0:
        for library in filter(importlib.util.find_spec, allowed):
            __import__(library)
        seen = set()
        for module in modules:
            if module in seen:
                continue
            result, told = os.pipe()
            if os.fork() == 0:
                __import__(module)
                others = [name for name in heavy if name in sys.modules and name not in allowed]
                ours = [name for name in modules if name in sys.modules]
                os.write(told, (json.dumps([module, others, ours]) + chr(10)).encode())
                os._exit(0)  # at once: taking scipy apart is slow
            os.close(told)
            with os.fdopen(result) as line:
                text = line.read()
            if os.wait()[1]:
                sys.exit(f"import {module} failed")
            seen.update(json.loads(text)[2])
            print(text, end="", flush=True)
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
    """Each module is loaded in a fresh process, by itself or by one that may load no more; see also the next test."""
    groups: dict[tuple[str, ...], list[str]] = {}
    graph = {module: module_level_imports(module) for module in module_names()}
    for module in sorted(graph, key=lambda module: -len(graph[module])):  # those that load many others come first
        groups.setdefault(tuple(sorted(longest_match(module, MAY_LOAD, "."))), []).append(module)
    paths = [str(ROOT / folder) for folder in ("host", "firmware", "")]
    command = [sys.executable, "-c", IMPORT_EACH, json.dumps([paths, list(groups.items()), list(HOME)])]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stderr
    lines = list(map(json.loads, done.stdout.splitlines()))
    assert [module for module, libraries, _ in lines if libraries] == []
    assert {module for _, _, ours in lines for module in ours} == graph.keys()


def test_no_modules_import_each_other_in_a_circle() -> None:
    """So each can be imported by itself."""
    modules = set(module_names())
    graph = {module: module_level_imports(module) & modules for module in modules}
    assert len(list(TopologicalSorter(graph).static_order())) == len(graph)


def module_level_imports(module: str) -> set[str]:
    """What is imported as soon as a module is, and not only in a function or for the type checker."""
    top, *rest = module.split(".")
    folder = ROOT / {"scalewright": "host", "shared_calc": ""}.get(top, "firmware")
    file = folder.joinpath(top, *rest).with_suffix(".py")
    file = file if file.exists() else folder.joinpath(top, *rest, "__init__.py")
    names: set[str] = set()
    for node in ast.parse(file.read_text(encoding="utf-8")).body:
        match node:
            case ast.Import(names=aliases):
                names |= {alias.name for alias in aliases}
            case ast.ImportFrom(module=str(source), names=aliases):
                names |= {source} | {f"{source}.{alias.name}" for alias in aliases}
    return names - {module}
