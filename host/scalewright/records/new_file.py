"""Files that are made whole or not at all."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

from scalewright.errors import InputError, RecordError


@contextmanager
def new_file(path: Path) -> Iterator[Path]:
    """Give the name of a file to write, which becomes `path` at the end; on an exception nothing is left behind.

    Raises InputError where `path` is there already, and RecordError where it cannot be written.
    """
    part = path.with_name(f"{path.name}.{uuid4().hex[:8]}.part")
    try:
        _check_free(path)
        yield part
        _check_free(path)
        os.replace(part, path)
    except OSError as error:
        message = f"{path}: it cannot be written: {error.strerror}"
        raise RecordError(message, "check folder, rights and room") from error
    finally:
        part.unlink(missing_ok=True)


def _check_free(path: Path) -> None:
    if path.exists():
        raise InputError("is there already", file=str(path), remedy="give another name")
