"""`scalewright register instrument`: what there is to say of thermometers, barometers and hygrometers."""

import argparse
from typing import TYPE_CHECKING, Any

from scalewright.equipment import Instrument
from scalewright.register_fields import INSTRUMENT, instrument_of
from scalewright.register_files import read_instruments, render_instruments

if TYPE_CHECKING:
    from scalewright.records.journal import Journal

HELP = "thermometers, barometers and hygrometers"
KIND = Instrument
FIELDS = INSTRUMENT
FILE_HELP = "CSV file with a line for each instrument; export writes such a file"
EXPORTED = ""  # all of them
item_of = instrument_of
read_file = read_instruments
render = render_instruments


def add_own_arguments(*_: argparse.ArgumentParser) -> None:
    """There is nothing that only instruments have."""


def seen(_: argparse.Namespace) -> dict[str, Any]:
    """Nothing is read from an instrument."""
    return {}


def line(instrument: Instrument) -> str:
    """Return an instrument in a line."""
    return f"{instrument.kind:12}  U = {instrument.expanded_u} {instrument.unit}  due {instrument.due or '-'}"


def details(_: "Journal", instrument: Instrument, __: argparse.Namespace) -> tuple[dict[str, Any], list[str]]:
    """Return what else is to be said of an instrument."""
    return {"unit": instrument.unit, "due": instrument.due}, [f"  {'unit':18}{instrument.unit}"]
