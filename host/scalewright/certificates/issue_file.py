"""What a person writes down to have a certificate issued: a TOML file of our own layout.

[certificate]
authorised_by = "TS"              # initials
place = "Bench 2"                 # where it was calibrated
location = "laboratory"           # whose place that is: laboratory, customer or other; optional, as are all that follow
number = "2026-0007"              # left out: the next free one
rule = "guarded"                  # how errors are decided: simple, guarded or conditional (scalewright decide --help)
received_on = "2026-02-27"
deviations = []                   # from the method
remarks = []
scenario = ""                     # where all of it is invented

[laboratory]
name = "..."
address = "..."                   # optional, as are contact and country (two letters of ISO 3166-1)

[customer]                        # the same
name = "..."

[scale]                           # optional, all of it
name = "..."                      # left out: as it is registered, or as the device names itself
place = "..."                     # where it stands
condition = "clean, feet level"   # when it was taken over

[[conditions]]                    # of the surroundings, as they were read; optional, any number
name = "air temperature"
low = 21.3
high = 21.9
unit = "°C"
instrument = "T-1"                # its key in the register gives the uncertainty
"""

import os
from datetime import date
from decimal import Decimal

from scalewright.certificates.document import Condition, Party
from scalewright.certificates.issue import LOCATIONS, Issue
from scalewright.certificates.si_units import OF_SYMBOL
from scalewright.errors import InputError
from scalewright.toml_file import TomlTable, read_toml

_UNITS = (*OF_SYMBOL, "%")


def read_issue(path: str | os.PathLike[str]) -> Issue:
    """Return what the file says. Raises InputError naming file, line and key, and what was expected."""
    root = read_toml(path)
    said = root.table("certificate")
    scale = root.table("scale") if "scale" in root else None
    conditions = root.array("conditions") if "conditions" in root else []
    fields = {
        "laboratory": _party(root.table("laboratory")),
        "customer": _party(root.table("customer")),
        "place": said.text("place"),
        "authorised_by": said.text("authorised_by"),
        "number": said.text("number", ""),
        "location": said.text("location", LOCATIONS[0]),
        "rule": said.text("rule", "simple"),
        "received_on": _date(said, "received_on"),
        "deviations": said.texts("deviations") if "deviations" in said else (),
        "remarks": said.texts("remarks") if "remarks" in said else (),
        "scenario": said.text("scenario", ""),
        "conditions": tuple(map(_condition, conditions)),
        "scale_name": scale.text("name", "") if scale else "",
        "scale_place": scale.text("place", "") if scale else "",
        "condition": scale.text("condition", "") if scale else "",
    }
    root.check_all_read()
    try:
        return Issue(**fields)  # type: ignore[arg-type]
    except InputError as error:
        raise InputError(error.message, file=root.file) from error


def _party(table: TomlTable) -> Party:
    return Party(table.text("name"), table.text("address", ""), table.text("contact", ""), table.text("country", ""))


def _condition(table: TomlTable) -> Condition:
    low, high = (Decimal(repr(table.number(key))).normalize() for key in ("low", "high"))
    unit = table.text("unit")
    if unit not in _UNITS:
        raise table.problem("unit", f"{unit[:20]!a} found; expected one of {', '.join(_UNITS)}")
    if low > high:
        raise table.problem("low", f"{low} found, above high = {high}; expected it below")
    return Condition(table.text("name"), _whole(low), _whole(high), unit, instrument=table.text("instrument", ""))


def _whole(value: Decimal) -> Decimal:
    return value if int(value.as_tuple().exponent) < 0 else value.quantize(Decimal(1))


def _date(table: TomlTable, key: str) -> date | None:
    if key not in table:
        return None
    text = table.text(key)
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise table.problem(key, f'{text[:20]!a} found; expected a day such as "2026-02-27"') from error
