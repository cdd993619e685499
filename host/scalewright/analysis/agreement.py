"""How many digits of a certified value a calculation returns."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from math import log10
from typing import Any

from scalewright.analysis.polynomial import PolynomialFit


@dataclass(frozen=True)
class Agreement:
    """One figure of ours beside the certified one."""

    name: str
    ours: str
    """rounded once to as many digits as the certified figure has"""
    certified: str
    """in the same notation as ours"""
    digits: float
    """as `agreeing_digits` counts them"""


def compare(fit: PolynomialFit, certified: Mapping[str, Any]) -> list[Agreement]:
    """Return the figures of an unweighted fit beside certified ones.

    certified: texts under `estimates` and `std_errors` (lowest power first), `residual_sd`, `r_squared`. The fit must
    have degrees of freedom.
    """
    names = [f"c{k}" for k in range(fit.first_power, fit.first_power + len(fit.coefficients))]
    names += [f"standard error of {name}" for name in names] + ["residual sd", "R2"]
    values = [*fit.coefficients, *(fit.standard_errors or ()), fit.residual_sd, fit.r_squared]
    texts = [*certified["estimates"], *certified["std_errors"], certified["residual_sd"], certified["r_squared"]]
    return [
        Agreement(name, _rounded(Fraction(value), text), _rounded(Fraction(text), text), agreeing_digits(value, text))
        for name, value, text in zip(names, values, texts, strict=True)
        if value is not None
    ]


def agreeing_digits(value: float | Fraction, certified: str) -> float:
    """Return the log relative error -log10(|value - certified| / |certified|), between 0 and the certified digits.

    A value that rounds to the certified text agrees in all its digits; for a certified 0 they are its decimal places
    and the error is absolute. Method: B. D. McCullough, "Assessing the reliability of statistical software: part I",
    The American Statistician 52 (1998) 358-366 (from memory).
    """
    text = Decimal(certified)
    places = -int(text.as_tuple().exponent)
    available = float(_digits(text) if text else places)
    difference = abs(Fraction(value) - Fraction(text))
    if 2 * difference <= Fraction(10) ** -places:
        return available
    return min(max(-log10(difference / (abs(Fraction(text)) or 1)), 0.0), available)


def _rounded(value: Fraction, certified: str) -> str:
    digits = _digits(Decimal(certified))
    return f"{Context(prec=digits).divide(Decimal(value.numerator), Decimal(value.denominator)):.{digits - 1}e}"


def _digits(number: Decimal) -> int:
    return len(number.as_tuple().digits)
