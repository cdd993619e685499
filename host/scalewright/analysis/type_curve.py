"""The curve of a type: units of one design bend alike, and differ in zero and span only.

With q = (counts - zero) / (full - zero), which runs from 0 on the empty scale to 1 at Max, every unit follows
load = Max * S(q) with one shape S(q) = q + a2 (q**2 - q) + a3 (q**3 - q), which is 0 at 0 and 1 at 1 whatever a2, a3.
The shape comes from units calibrated at many loads (`pooling.py`). A further unit needs two: its zero and its full
load. That is the trim; counts are mapped onto q, and the polynomial in q becomes one in counts, exactly.

How sure that is. The shape of the new unit differs from the type's by what the units differ among themselves: nothing
at zero and at the trimmed load, most between. The zero, the full load's counts and its mass, and the reading itself add
theirs by the law of propagation. One unit says nothing of how others differ: then that part is missing, and only a
check at every step shows what the trim is worth. A check is due in any case: common practice.

File: one JSON object. Numbers that must not lose a digit are decimal texts.
    {"format": "scalewright type curve", "version": 1, "design": "what it is the curve of", "max_g": "5000",
     "shape": ["-0.0012", "0.0003"],                        a2, a3, ...; [] for a straight line
     "shape_covariance": [[1e-9, 0.0], [0.0, 1e-9]],        of a further unit's shape about this one; null for one unit
     "units": [{"name": "unit A", "zero_counts": 84210.4, "full_counts": 1842004.1, "residual_sd_g": 0.05}, ...]}
"""

import json
import os
from dataclasses import asdict, dataclass
from decimal import Decimal
from fractions import Fraction
from math import fsum, lcm, sqrt
from typing import Any

from scalewright.errors import InputError
from scalewright.table_file import replace_file
from shared_calc.calibration import coverage
from shared_calc.coefficient_record import CoefficientError, CoefficientRecord, encode
from shared_calc.curve import CurveError, quantise, span_of
from shared_calc.temperature import Compensation

_FORMAT = "scalewright type curve"
_VERSION = 1
_REACH = Fraction(5, 4)
_LEAST_TRIM = Fraction(1, 2)  # common practice: a lighter load than half of Max leaves the span to extrapolation
_HALVINGS = 64


@dataclass(frozen=True)
class Unit:
    """One of the units that the shape was taken from."""

    name: str
    zero_counts: float
    full_counts: float
    residual_sd_g: float


@dataclass(frozen=True)
class TypeCurve:
    """The shape that units of one design share."""

    design: str
    max_g: Decimal
    shape: tuple[Decimal, ...]
    """a2, a3, ..."""
    shape_covariance: tuple[tuple[float, ...], ...] | None
    """of a further unit's a2, a3, ... about these; None where a single unit says nothing of others"""
    units: tuple[Unit, ...]

    @property
    def degrees_of_freedom(self) -> int:
        """Of the shape's covariance."""
        return len(self.units) - 1

    @property
    def coefficients(self) -> tuple[Fraction, ...]:
        """The coefficients of S by rising power of q, from q**1."""
        shape = [Fraction(a) for a in self.shape]
        return (1 - sum(shape, Fraction(0)), *shape)

    def share(self, q: Fraction) -> Fraction:
        """Return S(q): the load as a share of Max."""
        return sum((c * q**k for k, c in enumerate(self.coefficients, 1)), Fraction(0))

    def slope(self, q: Fraction) -> Fraction:
        """Return dS/dq."""
        return sum((k * c * q ** (k - 1) for k, c in enumerate(self.coefficients, 1)), Fraction(0))

    def place(self, share: Fraction) -> Fraction:
        """Return the q at which S is `share`: exact for 0 and 1, else from a bracket halved to 2**-64 of it."""
        if share in (0, 1):
            return share
        low, high = Fraction(0), _REACH
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if self.share(middle) < share else (low, middle)
        return low


@dataclass(frozen=True)
class TrimLoad:
    """One of the two loads of a trim."""

    load_g: Fraction
    counts: Fraction
    u_load_g: float = 0.0
    u_counts: float = 0.0


@dataclass(frozen=True)
class TrimUncertainty:
    """Standard uncertainties of the load that a trimmed unit indicates, by where they come from, in grams."""

    shape_g: float | None
    """what units differ in shape; None: not known, and not in the sum"""
    zero_g: float
    full_counts_g: float
    full_load_g: float
    reading_g: float

    @property
    def combined_g(self) -> float:
        """The root of the sum of their squares."""
        return sqrt(fsum(part**2 for part in asdict(self).values() if part is not None))


@dataclass(frozen=True)
class Trim:
    """A unit that follows its type's curve through its own zero and full load."""

    type_curve: TypeCurve
    zero: TrimLoad
    full: TrimLoad

    def __post_init__(self) -> None:
        if self.zero.load_g != 0 or not _LEAST_TRIM <= self.full.load_g / Fraction(self.type_curve.max_g) <= _REACH:
            raise InputError(
                f"trim loads {float(self.zero.load_g):g} g and {float(self.full.load_g):g} g; expected 0 g and Max, "
                f"{self.type_curve.max_g} g, or at least half of it"
            )
        if self.zero.counts == self.full.counts:
            raise InputError("zero and full load gave the same counts", remedy="check the wiring and the load")

    def load_g(self, counts: Fraction) -> Fraction:
        """Return the load at these counts, exactly."""
        return Fraction(self.type_curve.max_g) * self.type_curve.share(self._q(counts))

    def counts(self, load_g: Fraction) -> Fraction:
        """Return the counts that this load gives."""
        q = self.type_curve.place(load_g / Fraction(self.type_curve.max_g)) / self._q(self.full.counts)
        return self.zero.counts + q * (self.full.counts - self.zero.counts)

    def u_load(self, counts: Fraction, u_counts: float = 0.0) -> TrimUncertainty:
        """Return how sure the load at these counts is; u_counts: standard uncertainty of the counts themselves."""
        q, q_full = self._q(counts), self._q(self.full.counts)
        per_q = float(Fraction(self.type_curve.max_g) * self.type_curve.slope(q))
        span = float(self.full.counts - self.zero.counts)
        return TrimUncertainty(
            self._u_shape(q, q_full),
            abs(per_q * float(q_full - q) / span) * self.zero.u_counts,
            abs(per_q * float(q) / span) * self.full.u_counts,
            float(q / q_full * self.type_curve.slope(q) / self.type_curve.slope(q_full)) * self.full.u_load_g,
            abs(per_q * float(q_full) / span) * u_counts,
        )

    def coefficients(self, division: tuple[int, int], compensation: Compensation | None = None) -> bytes:
        """Return the encoded coefficient record for the device; division: mantissa and power of ten, as d in grams.

        compensation: for temperature, which the counts of the loads have been through. Exact until it is quantised.
        Raises InputError where the device could not evaluate the curve faithfully.
        """
        low, high = coverage(*sorted(round(load.counts) for load in (self.zero, self.full)))
        centre, shift = span_of(low, high)
        division_g = division[0] * Fraction(10) ** division[1]
        exact = [c * Fraction(self.type_curve.max_g) / division_g for c in self._in_counts(centre)]
        denominator = lcm(*(c.denominator for c in exact))
        try:
            curve = quantise([int(c * denominator) for c in exact], denominator, centre, shift)
            max_divisions = int(Fraction(self.type_curve.max_g) / division_g)
            return bytes(encode(CoefficientRecord(curve, *division, max_divisions, compensation)))
        except (CurveError, CoefficientError) as error:
            raise InputError(f"no curve can be stored: {error}", remedy="check the loads and the wiring") from error

    def _q(self, counts: Fraction) -> Fraction:
        full_q = self.type_curve.place(self.full.load_g / Fraction(self.type_curve.max_g))
        return full_q * (counts - self.zero.counts) / (self.full.counts - self.zero.counts)

    def _in_counts(self, centre: int) -> list[Fraction]:
        """Return the coefficients of S by rising power of (counts - centre)."""
        q0 = self._q(Fraction(centre))
        q1 = self._q(Fraction(centre + 1)) - q0
        result = [Fraction(0)]
        for coefficient in (*reversed(self.type_curve.coefficients), Fraction(0)):
            shifted = [Fraction(0), *(q1 * c for c in result)]
            result = [q0 * c + d for c, d in zip([*result, Fraction(0)], shifted, strict=True)]
            result[0] += coefficient
        while result[-1] == 0:
            result.pop()
        return result

    def _u_shape(self, q: Fraction, q_full: Fraction) -> float | None:
        if self.type_curve.shape_covariance is None:
            return None
        at_full = q / q_full * self.type_curve.slope(q) / self.type_curve.slope(q_full)
        lever = [
            float((q**k - q) - at_full * (q_full**k - q_full)) for k in range(2, len(self.type_curve.shape) + 2)
        ]
        rows = zip(lever, self.type_curve.shape_covariance, strict=True)
        variance = fsum(a * fsum(c * b for c, b in zip(row, lever, strict=True)) for a, row in rows)
        return float(self.type_curve.max_g) * sqrt(max(variance, 0.0))


def read_type_curve(path: str | os.PathLike[str]) -> TypeCurve:
    """Return the type curve in a file. Raises InputError, saying what was expected."""
    file = os.fspath(path)
    try:
        with open(file, encoding="utf-8") as stream:
            document = json.load(stream)
        if document["format"] != _FORMAT or document["version"] != _VERSION:
            raise InputError(f"expected the format {_FORMAT!r}, version {_VERSION}", file=file)
        return _type_curve(document)
    except OSError as error:
        raise InputError(f"cannot be read: {(error.strerror or str(error)).lower()}", file=file) from error
    except (ValueError, ArithmeticError, KeyError, TypeError, RecursionError) as error:
        found = f"{type(error).__name__} {str(error)[:60]!a}"
        message = f"no type curve: {found}; expected what `scalewright type-curve` writes"
        raise InputError(message, file=file) from error


def write_type_curve(path: str | os.PathLike[str], curve: TypeCurve) -> None:
    """Write the type curve so that `read_type_curve` returns exactly this one; the file is replaced as a whole."""
    document = {"format": _FORMAT, "version": _VERSION, **asdict(curve)}
    document |= {"max_g": str(curve.max_g), "shape": [str(a) for a in curve.shape]}
    replace_file(path, json.dumps(document, indent=1) + "\n")


def _type_curve(document: dict[str, Any]) -> TypeCurve:
    covariance = document["shape_covariance"]
    shape = tuple(_finite(Decimal(a)) for a in document["shape"])
    if covariance is not None:
        covariance = tuple(tuple(float(_finite(Decimal(c))) for c in row) for row in covariance)
        if len(covariance) != len(shape) or any(len(row) != len(shape) for row in covariance):
            raise ValueError("shape_covariance does not fit shape")
    curve = TypeCurve(
        str(document["design"]),
        _finite(Decimal(document["max_g"])),
        shape,
        covariance,
        tuple(Unit(**unit) for unit in document["units"]),
    )
    if curve.max_g <= 0 or len(shape) > 2 or not _rises(curve):
        raise ValueError("max_g above 0 and a rising shape of degree 1 to 3 are needed")
    return curve


def _finite(number: Decimal) -> Decimal:
    if not number.is_finite():
        raise ValueError("a finite number is needed")
    return number


def _rises(curve: TypeCurve) -> bool:
    """Does the shape rise from a quarter below zero to a quarter above Max? Its slope is of degree 2 at most."""
    a2, a3 = (*map(Fraction, curve.shape), Fraction(0), Fraction(0))[:2]
    places = [1 - _REACH, _REACH]
    if a3:
        places.append(min(max(-a2 / (3 * a3), places[0]), places[1]))  # where the slope is least or greatest
    return all(curve.slope(q) > 0 for q in places)
