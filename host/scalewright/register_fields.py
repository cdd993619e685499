"""The fields of register items as people write them: the cells of a file and the options of a command alike."""

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

from scalewright.equipment import PANS, STATES, UNITS, Certificate, Instrument, Limits, MassSet, Piece, RegisteredScale
from scalewright.errors import InputError
from scalewright.handbook_44 import CLASSES as HANDBOOK_44_CLASSES
from scalewright.handbook_44 import Handbook44Class
from scalewright.own_tolerance import OwnTolerance, read_own_tolerance
from scalewright.table_file import Line, Row
from scalewright.tolerances import AccuracyClass
from scalewright.weight_classes import CLASSES as WEIGHT_CLASSES

Item = TypeVar("Item", RegisteredScale, Instrument, MassSet, Piece)
Values = Mapping[str, Any]
"""What was read of the fields, by name; what is not in it was not given"""


def _text(text: str) -> str:
    return text


def _number(text: str) -> Decimal:
    return Row(Line("", 0, text), {"": text}).number("")


def _whole(text: str) -> int:
    value = _number(text)
    if value != int(value):
        raise InputError(f"{text[:40]!a} found; expected a whole number")
    return int(value)


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"{text[:40]!a} found; expected a date such as 2026-03-02") from error


def _own_tolerance(path: str) -> OwnTolerance:
    return replace(read_own_tolerance(path), file=os.path.basename(path))


@dataclass(frozen=True)
class Field:
    """One field: its name in a file, its option of a command, and what a text in it means."""

    name: str
    option: str
    help: str
    read: Callable[[str], Any] = _text
    empty: Any = ""
    """what it is where nothing is written"""

    @property
    def is_text(self) -> bool:
        """Is it kept as it was written?"""
        return self.read is _text


_LIMITS = ("accuracy_class", "handbook_44_class", "tolerance")
_CERTIFICATE_FIELDS = {
    "certificate": "number",
    "issued_by": "issued_by",
    "certified": "on",
    "due": "due",
    "up_to_g": "up_to_g",
}
"""name of the field -> what it is in a Certificate; the first three are needed"""
_KEY = Field("key", "", "what it is called here")
_STATE = Field("state", "--state", " or ".join(STATES), empty=STATES[0])
_CERTIFICATE = (
    Field("certificate", "--certificate", "number of the certificate", empty=None),
    Field("issued_by", "--issued-by", "who issued it", empty=None),
    Field("certified", "--certified", "day of the calibration, such as 2026-03-02", _date, None),
    Field("due", "--due", "last day it is relied on", _date, None),
)
SCALE = (
    _KEY,
    Field("model", "--model", "as the device names itself, or its plate does"),
    Field("serial_number", "--serial-number", "serial number"),
    Field("max_g", "--max", "Max in g", _number),
    Field("d_g", "--division", "d in g", _number),
    Field("accuracy_class", "--class", "OIML R 76 class that limits its errors: I, II, III, IIII", empty=None),
    Field("e_g", "--e", "verification interval e in g (as d)", _number, None),
    Field("handbook_44_class", "--handbook-44", f"or by Handbook 44: {', '.join(HANDBOOK_44_CLASSES)}", empty=None),
    Field("tolerance", "--tolerance", "or by your own CSV table load_g,limit_g", _own_tolerance, None),
    Field("min_g", "--min", "Min in g (as the class has it)", _number, None),
    Field("maker", "--maker", "who made it"),
    Field("place", "--place", "where it stands"),
    Field("pan", "--pan", f"{', '.join(PANS)} ({PANS[0]})", empty=PANS[0]),
    Field("supports", "--supports", "points that carry the pan (4)", _whole, 4),
    Field("interval_months", "--interval-months", "from one calibration to the next", _whole, None),
    Field("calibrated", "--calibrated", "day of the last calibration known, such as 2026-03-02", _date, None),
    _STATE,
)
INSTRUMENT = (
    _KEY,
    Field("kind", "--kind", "; ".join(f"{kind} ({unit})" for kind, unit in UNITS.items())),
    Field("expanded_u", "--expanded-u", "U of a corrected reading, in its unit", _number),
    Field("k", "--k", "coverage factor of U (2)", _number, Decimal(2)),
    Field("correction", "--correction", "what is added to a reading, in its unit (0)", _number, Decimal(0)),
    Field("model", "--model", "model"),
    Field("serial_number", "--serial-number", "serial number"),
    Field("place", "--place", "where it is"),
    *_CERTIFICATE,
    _STATE,
)
MASS_SET = (
    _KEY,
    Field("serial_number", "--serial-number", "serial number"),
    *_CERTIFICATE,
    Field("up_to_g", "--up-to", "heaviest piece in g that the certificate is for", _number, None),
    Field("correlation", "--correlation", "of pieces: 1 from one standard, 0 independent (1)", _number, Decimal(1)),
    _STATE,
)
PIECE = (
    Field("name", "", "as it is marked"),
    Field("nominal_g", "", "nominal value", _number),
    Field("mass_g", "", "conventional mass", _number, None),
    Field("expanded_u_g", "", "its U", _number, None),
    Field("k", "", "coverage factor of U", _number, Decimal(2)),
    Field("class", "", ", ".join(WEIGHT_CLASSES)),
    Field("drift_g", "", "the most it may have changed since", _number, Decimal(0)),
    Field("density_kg_m3", "", "density", _number, Piece.density_kg_m3),
    Field("u_density_kg_m3", "", "its standard uncertainty", _number, Piece.u_density_kg_m3),
)
_OPTIONS = {field.name: f"{field.option}, {field.help}" for field in (*SCALE, *INSTRUMENT) if field.option}


def read_fields(
    wanted: Sequence[Field], texts: Mapping[str, str], problem: Callable[[Field, str], InputError]
) -> dict[str, Any]:
    """Return the values of those fields that `texts` has. Raises what `problem` makes of a message."""
    values = {}
    for field in wanted:
        if field.name in texts:
            text = texts[field.name].strip()
            try:
                values[field.name] = field.read(text) if text else field.empty
            except InputError as error:
                raise problem(field, error.message) from error
    return values


def scale_of(values: Values, before: RegisteredScale | None = None) -> RegisteredScale:
    """Return the scale with these values, and for what is not given those it had before. Raises InputError."""
    given = dict(values)
    _require(given, before, "key", "model", "serial_number", "max_g", "d_g")
    limits = _limits(given, before)
    if given.get("min_g") is None and (before is None or "min_g" in given):
        given["min_g"] = _usual_min_g(limits)
    if before is not None and given.get("serial_number", before.serial_number) != before.serial_number:
        given.setdefault("seen", None)  # that was another device
    return _built(RegisteredScale, {**given, "limits": limits}, before)


def instrument_of(values: Values, before: Instrument | None = None) -> Instrument:
    """Return the instrument with these values, and for what is not given those it had before. Raises InputError."""
    _require(values, before, "key", "kind", "expanded_u")
    certificate = _certificate(values, before.certificate if before else None)
    return _built(Instrument, {**values, "certificate": certificate}, before)


def mass_set_of(values: Values, pieces: Sequence[Piece] = (), before: MassSet | None = None) -> MassSet:
    """Return the mass set with these values and pieces, and for what is not given those it had before."""
    certificate = _certificate(values, before.certificate if before else None)
    given = {**values, "certificate": certificate, **({"pieces": tuple(pieces)} if pieces else {})}
    _require(given, before, "key", "pieces")
    return _built(MassSet, given, before)


def piece_of(values: Values) -> Piece:
    """Return the piece with these values. Raises InputError."""
    _require(values, None, "name", "nominal_g")
    renamed = {"mass_g": "conventional_mass_g", "class": "weight_class"}
    return _built(Piece, {renamed.get(name, name): value for name, value in values.items()}, None)


def texts_of(item: RegisteredScale | Instrument | MassSet | Piece) -> dict[str, str]:
    """Return the fields of an item as texts, from which it is read back."""
    values = {field.name: getattr(item, field.name) for field in fields(item)}
    certificate = values.pop("certificate", None)
    values |= {name: getattr(certificate, its, None) for name, its in _CERTIFICATE_FIELDS.items()}
    if isinstance(item, RegisteredScale):
        values |= {**dict.fromkeys((*_LIMITS, "e_g")), **_limits_as_fields(item.limits)}
    if isinstance(item, Piece):
        values |= {"mass_g": item.conventional_mass_g, "class": item.weight_class}
    return {name: "" if value is None else _written(value) for name, value in values.items()}


def _written(value: object) -> str:
    if isinstance(value, OwnTolerance):
        return value.file
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def _require(given: Values, before: object, *needed: str) -> None:
    for name in needed:
        if given.get(name, getattr(before, name, None)) in (None, "", ()):
            raise InputError(f"{name} is missing" + (f"; expected {_OPTIONS[name]}" if name in _OPTIONS else ""))


def _built(kind: type[Item], given: Values, before: Item | None) -> Item:
    named: dict[str, Any] = {field.name: given[field.name] for field in fields(kind) if field.name in given}
    return replace(before, **named) if before is not None else kind(**named)


def _limits(given: Values, before: RegisteredScale | None) -> Limits:
    stated = {name: given[name] for name in _LIMITS if given.get(name) is not None}
    if not stated and before is not None:
        stated = _limits_as_fields(before.limits)
    d_g = given.get("d_g") or (before.d_g if before else 0)
    e_g = given.get("e_g") or given.get("d_g") or (before.e_g if before else 0)
    match [(name, stated[name]) for name in _LIMITS if name in stated]:
        case [("accuracy_class", name)]:
            return AccuracyClass(name, Fraction(e_g))
        case [("handbook_44_class", name)]:
            return Handbook44Class(name, Fraction(d_g))
        case [("tolerance", OwnTolerance() as tolerance)]:
            return tolerance
    raise InputError(f"{' and '.join(stated) or 'no limits'} found; expected one of {', '.join(_LIMITS)}")


def _limits_as_fields(limits: Limits) -> dict[str, Any]:
    match limits:
        case AccuracyClass(name, e_g):
            return {"accuracy_class": name, "e_g": Decimal(e_g.numerator) / e_g.denominator}
        case Handbook44Class(name):
            return {"handbook_44_class": name}
        case OwnTolerance():
            return {"tolerance": limits}


def _usual_min_g(limits: Limits) -> Decimal:
    """OIML R 76-1:2006, table 3; 0 where the class has no such e, or there is none."""
    min_g = limits.min_g if isinstance(limits, AccuracyClass) else None
    return Decimal(0) if min_g is None else Decimal(min_g.numerator) / min_g.denominator


def _certificate(values: Values, before: Certificate | None) -> Certificate | None:
    """Return the certificate; what was known of the one before holds as long as its number does."""
    given = {its: values[name] for name, its in _CERTIFICATE_FIELDS.items() if name in values}
    if before is not None and given.get("number", before.number) == before.number:
        given = {**{its: getattr(before, its) for its in _CERTIFICATE_FIELDS.values()}, **given}
    if all(value is None for value in given.values()):
        return None
    for name, its in list(_CERTIFICATE_FIELDS.items())[:3]:
        if given.get(its) is None:
            raise InputError(f"{name} is missing; expected of a certificate, with {', '.join(_CERTIFICATE_FIELDS)}")
    return Certificate(**given)
