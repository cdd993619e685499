"""A recording as it is taken: on disk reading by reading, under its own name once it is whole."""

import os
from collections.abc import Mapping
from decimal import Decimal
from types import TracebackType

from scalewright.errors import InputError, ScalewrightError
from scalewright.recordings import RECORDING_COLUMNS
from scalewright.table_file import render_table

_SYNC_EVERY = 1000  # readings


class RecordingWriter:
    """Writes NAME.part and makes it NAME at the end, however that comes; whoever interrupts keeps what there is.

    After a power cut NAME.part holds all but the last readings. Raises InputError where NAME exists already: a
    recording is not written over.
    """

    def __init__(self, name: str, metadata: Mapping[str, object]) -> None:
        if os.path.exists(name):
            raise InputError("exists already; expected a new name", file=name)
        self.name = name
        self.readings = 0
        self._part = f"{name}.part"
        try:
            self._file = open(self._part, "w", encoding="utf-8", newline="", buffering=1)  # noqa: SIM115
            self._file.write(render_table(metadata, RECORDING_COLUMNS, ()))
        except OSError as error:
            raise ScalewrightError(f"{name}: cannot be written: {str(error.strerror).lower()}") from error

    def add(self, time_ms: int, counts: int, temperature_c: Decimal | None, load_g: Decimal) -> None:
        """Write one reading."""
        seconds, milliseconds = divmod(time_ms, 1000)
        temperature = "" if temperature_c is None else temperature_c
        self._file.write(f"{seconds}.{milliseconds:03},{counts},{temperature},{load_g}\n")
        self.readings += 1
        if self.readings % _SYNC_EVERY == 0:
            os.fsync(self._file.fileno())

    def __enter__(self) -> "RecordingWriter":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._file.flush()
        os.fsync(self._file.fileno())
        self._file.close()
        if self.readings:
            os.replace(self._part, self.name)
        else:
            os.unlink(self._part)
