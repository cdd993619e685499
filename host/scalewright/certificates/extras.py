"""Libraries that only certificates need, and what to do where one is not installed."""

from importlib import import_module
from typing import Any

from scalewright.errors import InputError


def library(name: str, what_for: str) -> Any:
    """Return a library by name. Raises InputError with the command that installs it."""
    try:
        return import_module(name)
    except ImportError as error:
        raise InputError(f"{what_for} needs {name}", remedy="pip install 'scalewright[report]'") from error
