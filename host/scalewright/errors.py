"""Everything that can go wrong, as one tree.

ScalewrightError
    InputError          what the user gave cannot be used: a file, an option, a value
    LinkError           the device cannot be reached, or the line was lost
    DeviceFault         the device answered that it could not do what was asked
    MeasurementError    a reading cannot be right: not still, wrong load, saturated
    ProcedureError      a procedure cannot go on
        SpoiledError    a part of it came to nothing and has to begin again
    RecordError         the journal cannot be read or written, or does not hold
        DamageError     what was written to its file cannot be read back
"""


class ScalewrightError(Exception):
    """A message a technician understands, and what to do about it."""

    def __init__(self, message: str, remedy: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.message} ({self.remedy})" if self.remedy else self.message


class InputError(ScalewrightError):
    """What the user gave cannot be used."""

    def __init__(self, message: str, *, file: str = "", line: int = 0, column: str = "", remedy: str = "") -> None:
        place = file
        if line:
            place += f", line {line}"
        if column:
            place += f", column {column}"
        super().__init__(f"{place}: {message}" if place else message, remedy)
        self.file = file
        self.line = line
        self.column = column


class LinkError(ScalewrightError):
    """The device cannot be reached, or the line was lost."""

    def __init__(self, message: str, *, port: str, remedy: str = "") -> None:
        super().__init__(f"{port}: {message}", remedy)
        self.port = port


class DeviceFault(ScalewrightError):
    """The device answered that it could not do what was asked."""

    def __init__(self, command: str, code: int, text: str) -> None:
        super().__init__(f"the device refused {command!r}: {text} ({code})")
        self.command = command
        self.code = code


class MeasurementError(ScalewrightError):
    """A reading cannot be right."""


class ProcedureError(ScalewrightError):
    """A procedure cannot go on."""


class SpoiledError(ProcedureError):
    """A part of a procedure came to nothing and has to begin again."""


class RecordError(ScalewrightError):
    """The journal cannot be read or written, or does not hold."""


class DamageError(RecordError):
    """What was written to the journal's file cannot be read back."""
