"""The points of a file as the x and y of a fit: which is the response, and which zero the curve goes through.

Response `counts`: the indication as the response to the load, as a calibration observes it. `load`: the load on the
counts, as the device evaluates it. README.md beside this file says what the difference is.

Zero `free`: the constant term is fitted. `origin`: 0 g shows 0 counts by definition, for counts that are net of a zero
already. `observed`: 0 g shows exactly what the empty scale showed, as on a scale that sets zero before weighing; the
observed zero is subtracted from the counts, and then the curve goes through the origin. Both constraints are met
exactly.

The observed zero has scatter of its own, which all net counts share. So a curve forced through it is surer near zero
and less sure at the top than its standard errors say: force it where the scale is used that way, not to improve a fit.
"""

from dataclasses import dataclass
from fractions import Fraction

from scalewright.errors import InputError
from scalewright.recordings import Observations

RESPONSES = ("counts", "load")
ZEROS = ("free", "origin", "observed")
_VALUES = {"counts": "counts", "load": "load_g"}
_UNCERTAINTIES = {"counts": "counts_u", "load": "load_u_g"}


@dataclass(frozen=True)
class FitPoints:
    """Exact x and y of the points, in the order of their file."""

    x: tuple[Fraction, ...]
    y: tuple[Fraction, ...]
    observations: Observations
    response: str
    zero: str
    zero_counts: Fraction
    """what was subtracted from the counts"""

    @property
    def through_zero(self) -> bool:
        return self.zero != "free"

    @property
    def x_column(self) -> str:
        """The column of the file that x comes from."""
        return _VALUES[RESPONSES[1 - RESPONSES.index(self.response)]]

    def u_x(self) -> tuple[Fraction, ...] | None:
        """Return the stated standard uncertainties of x; None where no row has one. Raises InputError on a gap."""
        return self._stated(_UNCERTAINTIES[RESPONSES[1 - RESPONSES.index(self.response)]], may_be_zero=True)

    def u_y(self, *, may_be_zero: bool = False) -> tuple[Fraction, ...] | None:
        """Return those of y, in the same way; to weigh by them, each must be above 0."""
        return self._stated(_UNCERTAINTIES[self.response], may_be_zero)

    def _stated(self, column: str, may_be_zero: bool) -> tuple[Fraction, ...] | None:
        values = [getattr(point, column) for point in self.observations.points]
        if all(value is None for value in values):
            return None
        for value, line in zip(values, self.observations.lines, strict=True):
            if value is None or not (value or may_be_zero):
                found, wanted = ("0" if value == 0 else "nothing"), ("a value" if may_be_zero else "a value above 0")
                message = f"{found} found, but points are weighted; expected {wanted} in every row or in none"
                remedy = "--unweighted gives every point the same weight"
                raise InputError(message, file=self.observations.file, line=line, column=column, remedy=remedy)
        return tuple(Fraction(value) for value in values)


def fit_points(observations: Observations, response: str = "counts", zero: str = "free") -> FitPoints:
    """Return the points with `response` as y. Raises InputError where a zero is wanted and none was observed."""
    zero_counts = observed_zero(observations) if zero == "observed" else Fraction(0)
    loads = tuple(Fraction(point.load_g) for point in observations.points)
    counts = tuple(Fraction(point.counts) - zero_counts for point in observations.points)
    x, y = (loads, counts) if response == "counts" else (counts, loads)
    return FitPoints(x, y, observations, response, zero, zero_counts)


def observed_zero(observations: Observations) -> Fraction:
    """Return the mean counts at 0 g. Raises InputError where no point has that load."""
    zeros = [Fraction(point.counts) for point in observations.points if point.load_g == 0]
    if not zeros:
        raise InputError("no point of 0 g; expected the zero that the curve is to go through", file=observations.file)
    return sum(zeros, Fraction(0)) / len(zeros)
