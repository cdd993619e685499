"""Independent libraries that the analysis is held against (the dependency group `crosscheck`)."""

import importlib
import warnings
from types import ModuleType

import pytest

from tests.on_micropython.runtimes import IS_REQUIRED


def library(name: str) -> ModuleType:
    """Return the module; without it skip the calling test, or fail it where SCALEWRIGHT_REQUIRE_RUNTIMES=1."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what others' imports have to say
            return importlib.import_module(name)
    except ImportError:
        message = f"{name} is not installed. To run this test: pip install --group crosscheck"
        if IS_REQUIRED:
            pytest.fail(message)
        pytest.skip(message)
