"""Repeatability: what is told of a series, and a restless place that fails it."""

from decimal import Decimal
from fractions import Fraction
from statistics import stdev

import pytest

from scalewright.procedures.repeatability import RepeatabilityTest, Series
from scalewright.procedures.requests import PlaceLoad
from scalewright.procedures.virtual_hand import VirtualHand
from tests.host.procedures.virtual_bench import carried_out, failing, loads

SIDE_THAT_IS_OFF = "VIRTual:CELL corner_x_per_mm,2e-5"


class CarelessHand(VirtualHand):
    """Puts the load where it happens to be, left or right of the middle in turn."""

    _placings = 0

    def _place(self, load: PlaceLoad) -> None:
        if load.load_g:
            self._placings += 1
        x_mm = 100 if self._placings % 2 else -100
        self._scale.ask(f"VIRTual:LOAD {load.load_g},{x_mm},0")


def test_spread_and_standard_deviation_are_those_of_the_series() -> None:
    # OIML R 76-1:2006, 3.6.1: largest less smallest. EURAMET cg-18 v4.0, 7.1.1: s with n - 1; statistics.stdev has it
    # from the standard library. Both clauses from memory.
    values = (Fraction(100), Fraction(1001, 10), Fraction(998, 10), Fraction(100), Fraction(1003, 10))
    series = Series(Decimal(100), values, Fraction(1, 2))
    assert series.spread_g == Fraction(1, 2)
    assert series.s_g == pytest.approx(stdev(map(float, values)), rel=1e-12)


def test_a_series_at_two_loads_clears_the_pan_between() -> None:
    run = carried_out(RepeatabilityTest(loads(1500, 3000), times=4))
    assert failing(run) == []
    placed = [request.load_g for request, _ in run.answered if isinstance(request, PlaceLoad)]
    assert placed == [0, 1500] * 4 + [0, 3000] * 4
    half, full = run.result.as_found[0]
    assert (len(half.indications_g), half.limit_g, full.limit_g) == (4, 1, Fraction(3, 2))
    assert max(half.s_g, full.s_g) < 0.1


def test_a_load_that_reads_otherwise_each_time_fails_by_its_spread() -> None:
    run = carried_out(RepeatabilityTest(loads(500), times=4), SIDE_THAT_IS_OFF, hand=CarelessHand)
    # 500 g, 100 mm to either side, 2e-5 a millimetre: 1 g more or less; limit 0.5 g
    assert failing(run) == [*(f"error at 500 g, weighing {k}" for k in (1, 2, 3, 4)), "spread at 500 g"]
    assert float(run.result.as_found[0][0].spread_g) == pytest.approx(2, abs=0.2)


def test_a_scale_that_is_off_but_repeats_fails_by_its_errors_alone() -> None:
    run = carried_out(RepeatabilityTest(loads(2000), times=3), "VIRTual:MASS 2000,1.3")
    assert failing(run) == [f"error at 2000 g, weighing {k}" for k in (1, 2, 3)]
