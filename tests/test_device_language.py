"""The lint of device code finds what MicroPython lacks, and each entry of its lists is really lacking there."""

from pathlib import Path

import pytest

from tests import device_language
from tests.device_language import device_files, findings
from tests.on_micropython.cortex_m0 import BoardError, CortexM0
from tests.on_micropython.runtimes import MPY_CROSS, command_or_skip

# Each is a whole program that CPython runs to its end and MicroPython 1.9.2 does not.
REFUSED_EVERYWHERE = [
    *(f"import {module}" for module in device_language.MODULES if module != "__future__"),
    "from __future__ import annotations",
    "(5).bit_length()",
    "(5).bit_count()",
    "import math\nmath.gcd(12, 8)",
    "from math import isqrt",
    "import math\nmath.prod([1])",
    "import math\nmath.fsum([1])",
    "(2.0).is_integer()",
    "(2.0).as_integer_ratio()",
    "'7'.zfill(3)",
    "'7'.rjust(3)",
    "'7'.ljust(3)",
    "'ab'.title()",
    "'ab'.capitalize()",
    "'a1'.isalnum()",
    "'ab'.removeprefix('a')",
    "'ab'.removesuffix('b')",
    "import time\ntime.monotonic()",
    "def f():\n 'text'\nassert f.__doc__ == 'text'",
    "try:\n int('x')\nexcept ValueError as e:\n assert e.__cause__ is None",
    "TimeoutError",
    "class A:\n def __index__(self): return 1\nassert [5, 6][A()] == 6",
    "class A:\n def __init_subclass__(cls): A.z = 1\nclass B(A): pass\nA.z",
    "class A:\n __slots__ = ('a',)\na = A()\ntry:\n a.z = 1\nexcept AttributeError:\n pass\nelse:\n raise ValueError",
    "match 3:\n case 3: pass",
    "try:\n pass\nexcept* ValueError:\n pass",
    "a = [1]\nb = [*a, 2]",
    "def f():\n a = [1]\n return 0, *a\nf()",
    "a = {1: 1}\nb = {**a}",
    "def f(a, /): return a",
    "try:\n raise ValueError from KeyError()\nexcept ValueError as e:\n assert getattr(e, '__cause__')",
    "class A(metaclass=type): pass",
    "async def f(x): return [i async for i in x]",
    "a = sorted([(i % 3, i) for i in range(30)], key=lambda t: t[0])\nassert a[:2] == [(0, 0), (0, 3)]",
    "list(zip([1], [2], strict=True))",
    "assert int.from_bytes(b'x', 'big', signed=True) == 120",
    "'{0[1]}'.format([1, 2])",
    "'abc'[::-1]",
    "str(123)[::2]",
    "assert range(5)[1:3] == range(1, 3)",
    "def f(): pass\nf.x = 1",
]
REFUSED_IN_CORE = [
    *(f"import {module}" for module in device_language.CORE_MODULES),
    "b'a'.hex()",
    "bytes.fromhex('00')",
    "'a'.encode()",
    "b'a'.decode()",
    "'a=b'.partition('=')",
    "'a'.splitlines()",
    "'a'.center(3)",
    "import math\nmath.inf",
    "import math\nmath.nan",
    "import math\nmath.log2(8)",
    "import math\nmath.log10(8)",
    "from math import erf",
    "import math\nmath.isclose(1, 1)",
    "int.__name__",
    "memoryview(b'a')",
    "class A:\n @property\n def x(self): return 1\nA().x",
    "NotImplemented",
    "class A: pass\na = A()\na.x = 1\ndelattr(a, 'x')",
    "class A:\n def __radd__(self, other): return 1\n1 + A()",
    "class A:\n def __iadd__(self, other): return 1\na = A()\na += 1",
    "class A:\n def __setattr__(self, name, value): raise KeyError\n"
    "try:\n A().x = 1\nexcept KeyError:\n pass\nelse:\n raise ValueError",
    "f'{1}'",
    "(n := 3)",
    "a: int = 1",
    "async def f(): pass",
    "class A:\n def __matmul__(self, other): return 1\nA() @ A()",
    "print(*[1], *[2])",
    "import struct\nq = '<q'\nassert struct.unpack(q, struct.pack(q, -5000000000)) == (-5000000000,)",
    "1_000",
    "assert 'ab'.startswith(('b', 'a'))",
    "pow(3, 4, 5)",
    "int.from_bytes(b'a')",
    "(5).to_bytes(2, byteorder='big')",
    "import sys\nprint('', file=sys.stderr)",
]
ACCEPTED = [
    "try:\n from binascii import crc32\nexcept ImportError:\n def crc32(data): return 0",
    "def f(a: int, *, b: int = 2) -> int: return a",
    "a, *b = [1, 2, 3]",
    "sorted([3, 1])[::-1]",
    "'{:>8}|%d'.format(3)",
    "raise ValueError('x')",
]


@pytest.mark.parametrize("program", REFUSED_EVERYWHERE)
def test_what_no_micropython_has_is_found(program: str) -> None:
    assert len(findings(program)) == 1
    exec(program, {})


@pytest.mark.parametrize("program", REFUSED_IN_CORE)
def test_what_old_micropython_lacks_is_found_in_the_arithmetic_core_only(program: str) -> None:
    assert findings(program) == []
    assert len(findings(program, core=True)) == 1
    exec(program, {"__annotations__": {}})


@pytest.mark.parametrize("program", ACCEPTED)
def test_what_every_micropython_has_is_accepted(program: str) -> None:
    assert findings(program, core=True, integers_only=True) == []


@pytest.mark.parametrize("program", ["x = 1.5", "x = 1 / 2", "x = 4\nx /= 2", "x = float('1')"])
def test_a_float_is_found_in_shared_calc(program: str) -> None:
    assert len(findings(program, integers_only=True)) == 1


def test_every_entry_of_the_lists_is_tried() -> None:
    found = " ".join(what for program in REFUSED_EVERYWHERE for _, what, _ in findings(program))
    found += " ".join(what for program in REFUSED_IN_CORE for _, what, _ in findings(program, core=True))
    tables = (
        *(device_language.MODULES, device_language.ATTRIBUTES, device_language.NAMES, device_language.METHODS),
        *(device_language.CORE_MODULES, device_language.CORE_ATTRIBUTES),
        *(device_language.CORE_NAMES, device_language.CORE_METHODS),
    )
    assert [word for table in tables for word in table if word not in found] == []


def test_every_refused_program_fails_on_the_oldest_micropython(cortex_m0: CortexM0) -> None:
    for program in REFUSED_EVERYWHERE + REFUSED_IN_CORE:
        cortex_m0.free_bytes()
        with pytest.raises(BoardError) as caught:
            cortex_m0.run(program)
            pytest.fail(f"MicroPython 1.9.2 runs {program!r}")
        assert "MemoryError" not in str(caught.value), program
    for program in ACCEPTED[:-1]:
        cortex_m0.free_bytes()
        cortex_m0.run(program)


def test_every_device_file_is_clean(capsys: pytest.CaptureFixture[str]) -> None:
    assert len(device_files()) > 10
    assert device_language.main([]) == 0, capsys.readouterr().out


def test_a_finding_names_file_line_and_remedy_and_ends_in_failure(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    core = tmp_path / "shared_calc" / "fit.py"
    core.parent.mkdir()
    core.write_text("x = 1\ny = f'{x}'\n")
    other = tmp_path / "device.py"
    other.write_text("y = f'{1}'\nimport enum\n")
    broken = tmp_path / "broken.py"
    broken.write_text("x = 1\ny = (\n")
    assert device_language.main([str(core), str(other), str(broken)]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert f"{core}:2: f-string, use %" in lines
    assert f"{other}:2: import enum, use plain classes, functions and ints" in lines
    assert f"{broken}:2: '(' was never closed" in lines


def test_what_only_the_compiler_refuses_is_reported(tmp_path: Path) -> None:
    command_or_skip(MPY_CROSS)
    file = tmp_path / "device.py"
    file.write_text("\nwith (open('a') as a, open('b') as b):\n    pass\n")
    assert findings(file.read_text()) == []
    assert device_language.check_file(file) == [f"{file}:2: mpy-cross 1.23.0 refuses it: SyntaxError: invalid syntax"]
