"""The way of every reading: raw counts -> calibration curve -> division. Device and host run these same lines."""

from shared_calc.reading import OVER_RANGE, SATURATED, UNCALIBRATED, UNDER_RANGE
from shared_calc.rounding import format_divisions, round_to_division

COUNTS_MAX = 0x7FFFFF
COUNTS_MIN = -0x800000


class MeasuringChain:
    """Takes raw counts one at a time and holds the latest result; a reading allocates no heap.

    `flags` are those of shared_calc.reading. `fine` is the indication before rounding, in units of
    d / 2**binary_exponent; `divisions` is the indication. Both mean something only where `flags` is 0.
    """

    def __init__(self):
        self.record = None
        self.counts = 0
        self.fine = 0
        self.divisions = 0
        self.flags = UNCALIBRATED

    def use(self, record):
        """Weigh by this CoefficientRecord from the next count on; None: uncalibrated."""
        self.record = record

    def take(self, counts):
        """Take one raw count through the chain."""
        self.counts = counts
        record = self.record
        flags = 0
        if counts >= COUNTS_MAX or counts <= COUNTS_MIN:
            flags = SATURATED
        if record is None:
            flags |= UNCALIBRATED
        elif not record.curve.covers(counts):
            flags |= OVER_RANGE if (counts > record.curve.centre) == record.curve.rises else UNDER_RANGE
        if not flags:
            curve = record.curve
            self.fine = curve.evaluate(counts)
            self.divisions = round_to_division(self.fine, curve.binary_exponent)
            if self.divisions > record.max_divisions + 9:
                flags = OVER_RANGE
        self.flags = flags

    def indication(self):
        """Return the indication in grams as decimal text, "" where a flag forbids one."""
        if self.flags:
            return ""
        return format_divisions(self.divisions, self.record.mantissa, self.record.power_of_ten)
