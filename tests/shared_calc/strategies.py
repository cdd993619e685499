"""Curves and records that may be used to weigh, of every kind there is."""

from hypothesis import strategies as st

from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.curve import LIMIT, SPAN, Curve
from shared_calc.temperature import MOST_SPAN, MOST_ZERO, MOST_ZERO_COUNTS, Compensation

coefficients = st.integers(1 - LIMIT, LIMIT - 1)
positions = st.integers(-SPAN, SPAN)


@st.composite
def curves(draw: st.DrawFn) -> Curve:
    """Degree 1 to 3, rising or falling, bowed by up to a few per cent, anywhere on the ADC's range."""
    slope = draw(st.integers(1 << 29, 600_000_000)) * draw(st.sampled_from([1, -1]))
    bows = draw(st.lists(st.integers(-10_000_000, 10_000_000), max_size=2))
    room = LIMIT - 8 - abs(slope) - sum(map(abs, bows))
    zero = draw(st.integers(-room, room))
    shift = draw(st.integers(0, 23))
    return Curve(draw(positions), shift, draw(st.integers(1, 29)), (*bows, slope, zero))


@st.composite
def records(draw: st.DrawFn) -> CoefficientRecord:
    curve = draw(curves())
    max_divisions = draw(st.integers(1, (1 << 30 - curve.binary_exponent) - 1))
    division = draw(st.sampled_from([1, 2, 5])), draw(st.integers(-9, 9))
    return CoefficientRecord(curve, *division, max_divisions, draw(st.one_of(st.none(), compensations())))


@st.composite
def compensations(draw: st.DrawFn) -> Compensation:
    """Of any size that is allowed, and often of the usual one."""
    reference = draw(st.integers(-40 * 16, 85 * 16))
    low_c, high_c = -((1024 - reference) // 16), (1024 + reference) // 16  # what a whole degree allows
    low_c, high_c = draw(st.integers(low_c, reference // 16)), draw(st.integers(-(-reference // 16), high_c))
    zero = draw(st.tuples(*[st.integers(1 - MOST_ZERO // 2, MOST_ZERO // 2 - 1)] * 2))
    span = draw(st.tuples(*[st.integers(1 - MOST_SPAN // 2, MOST_SPAN // 2 - 1)] * 2))
    zero_counts = draw(st.integers(-MOST_ZERO_COUNTS, MOST_ZERO_COUNTS))
    return Compensation(reference, max(low_c, -128), min(high_c, 127), zero_counts or 1, *zero, *span)


@st.composite
def curves_and_counts(draw: st.DrawFn) -> tuple[Curve, int]:
    """A curve and a raw count that it covers."""
    curve = draw(curves())
    offset = draw(st.one_of(st.integers(-curve.half, curve.half), st.sampled_from([-curve.half, curve.half])))
    return curve, curve.centre + offset
