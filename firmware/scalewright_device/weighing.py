"""Everyday use of the scale, by command or by button: zero, tare, units, and a two-point adjustment.

Nothing here is stored but the coefficients of an adjustment, for which the seal must be open.
"""

from shared_calc import two_point
from shared_calc.display_unit import unit_of_mass, unit_of_pieces
from shared_calc.reading import FAULTS, MOVING
from shared_calc.rounding import format_divisions
from shared_calc.zero_tare import REASONS, set_initial_zero, set_tare, set_zero

# Beside the REASONS of zero_tare:
_SHORT_REASONS = ("", "no data", "moving", "too far", "too far", "tared", "is set", "no load", "over")


class WeighingError(Exception):
    """It cannot be done now; the text says why, and `short` does in 8 characters."""

    def __init__(self, text, short):
        super().__init__(text)
        self.short = short


class Weighing:
    """What a person does with a Device. Methods raise WeighingError where the limits or the load forbid it.

    `is_tracking`: does the zero follow a small drift? Not until it is asked for: a calibration, a creep test or a few
    grains put on one by one must not be tracked away.
    """

    def __init__(self, device):
        self._device = device
        self._chain = device.chain
        self._unit = "g"
        self._pieces = None  # a DisplayUnit
        self._empty = None  # counts
        self._tracked_ms = 0
        self.is_tracking = False

    def step(self):
        """To be called after each reading."""
        elapsed_ms = self._device.sampler.time_ms - self._tracked_ms
        self._tracked_ms += elapsed_ms
        if self.is_tracking:
            self._chain.track_zero(elapsed_ms)

    def zero(self):
        self._set(set_zero)

    def initial_zero(self):
        self._set(set_initial_zero)

    def tare(self):
        self._set(set_tare)

    def forget(self):
        """Take note that the coefficients are others: what was counted by the old ones means nothing now."""
        self._pieces = None

    def use_unit(self, symbol):
        """Show this unit from now on, one of UNITS."""
        self._unit = symbol
        self._pieces = None

    def count_pieces(self, number):
        """Show pieces from now on; what lies on the scale is so many of them."""
        if self._chain.flags & (FAULTS | MOVING) or self._chain.shown() <= 0:
            raise WeighingError("%d pieces must lie on the scale, at rest" % number, "no load")
        self._pieces = unit_of_pieces(self._chain.shown(), number)

    def unit(self):
        """Return the symbol of the unit that is shown."""
        return self._pieces.symbol if self._pieces else self._unit

    def shown(self):
        """Return the indication in that unit as decimal text, "" where a fault forbids one."""
        if self._chain.flags & FAULTS:
            return ""
        unit = self._pieces or unit_of_mass(self._unit, self._chain.record)
        return format_divisions(unit.divisions(self._chain.shown()), unit.mantissa, unit.power_of_ten)

    def take_empty(self):
        """Take the first point of an adjustment: the scale is empty."""
        self._empty = self._settled_counts()

    def take_load(self, load_ng, max_ng=None, division_ng=None):
        """Take the second point, make coefficients of both, store and use them.

        Max and division stay as they are unless given; where there were none, Max is the load and the division a
        thousandth of it. Raises also what Device.change_coefficients and two_point raise, and ValueError for a
        division that is not 1, 2 or 5 times a power of ten.
        """
        if self._empty is None:
            raise WeighingError("the scale without a load comes first", "empty")
        record = self._chain.record
        if max_ng is None:
            max_ng = record.max_divisions * _division_ng(record) if record else load_ng
        if division_ng is None:
            division_ng = _division_ng(record) if record else load_ng // 1000
        division = two_point.division_of(division_ng)
        compensation = record.compensation if record else None
        loaded = self._settled_counts()
        self._device.change_coefficients(
            two_point.two_point_record(self._empty, loaded, load_ng, max_ng, division[0], division[1], compensation)
        )
        self._empty = None

    def _set(self, function):
        refused = self._chain.set(function)
        if refused:
            raise WeighingError(REASONS[refused], _SHORT_REASONS[refused])

    def _settled_counts(self):
        counts = self._chain.settled_counts()
        if counts is None:
            raise WeighingError("the load is not at rest", "moving")
        return counts


def _division_ng(record):
    return record.mantissa * 10 ** (record.power_of_ten + 9)
