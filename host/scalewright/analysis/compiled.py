"""Functions of the device compiled by numba, where that is installed: the very same lines, quick enough for days.

What is compiled is kept beside the source as Python's own bytecode is, in a folder named after all of shared_calc, so
that it is compiled anew when any line of that changes.
"""

import hashlib
import importlib.util
import os
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import FunctionType
from typing import Any

import shared_calc

IS_AVAILABLE = importlib.util.find_spec("numba") is not None
# The functions make no arrays, so nothing has to count references to them: that would take a tenth of the time.
_OPTIONS = {"error_model": "numpy", "_nrt": False}
_PART_OPTIONS = {**_OPTIONS, "forceinline": True, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}


@cache
def compiled(loop: FunctionType) -> Callable[..., None]:
    """Return a function over arrays, compiled together with all it calls."""
    numba: Any = importlib.import_module("numba")
    is_kept = not sys.dont_write_bytecode and os.access(Path(__file__).parent, os.W_OK)
    before, numba.config.CACHE_DIR = numba.config.CACHE_DIR, str(_cache_folder())
    try:
        result: Callable[..., None] = numba.njit(cache=is_kept, **_OPTIONS)(_calling_compiled(loop))
    finally:
        numba.config.CACHE_DIR = before
    return result


@cache
def _compiled_part(function: FunctionType) -> object:
    return importlib.import_module("numba").njit(**_PART_OPTIONS)(_calling_compiled(function))


def _calling_compiled(function: FunctionType) -> FunctionType:
    """Return the function with every plain function that it calls replaced by a compiled one."""
    called = {name: function.__globals__.get(name) for name in function.__code__.co_names}
    parts = {name: _compiled_part(value) for name, value in called.items() if isinstance(value, FunctionType)}
    return FunctionType(function.__code__, {**function.__globals__, **parts}, function.__name__)


def _cache_folder() -> Path:
    sources = sorted(Path(shared_calc.__file__).parent.glob("*.py"))
    digest = hashlib.sha256(b"".join(source.read_bytes() for source in sources)).hexdigest()
    return Path(__file__).parent / "__pycache__" / f"compiled-{digest[:16]}"
