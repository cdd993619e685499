"""A type curve and its trim: exact to the device's bytes, propagated to every load, kept in a file."""

import json
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scalewright.analysis.type_curve import Trim, TrimLoad, TypeCurve, Unit, read_type_curve, write_type_curve
from scalewright.errors import InputError
from shared_calc.coefficient_record import decode

CURVE = TypeCurve(
    design="bench scale of our own invention",
    max_g=Decimal(5000),
    shape=(Decimal("-0.00213"), Decimal("0.00054")),
    shape_covariance=((4e-9, -1e-9), (-1e-9, 9e-9)),
    units=(Unit("A", 84210.4, 1842004.1, 0.05), Unit("B", 90112.0, 1850230.9, 0.04)),
)


def trimmed(zero=84_000, full=1_840_000, full_g=5000, curve=CURVE, u_load_g=0.0, u_counts=(0.0, 0.0)) -> Trim:
    return Trim(
        curve,
        TrimLoad(Fraction(0), Fraction(zero), 0.0, u_counts[0]),
        TrimLoad(Fraction(full_g), Fraction(full), u_load_g, u_counts[1]),
    )


@given(share=st.fractions(0, 1, max_denominator=1000), full_g=st.sampled_from([2500, 5000, 6000]))
def test_the_counts_of_a_load_weigh_that_load(share, full_g):
    trim = trimmed(full_g=full_g)
    assert float(trim.load_g(trim.counts(5000 * share))) == pytest.approx(float(5000 * share), abs=1e-12)


SHAPES = st.lists(st.decimals("-0.05", "0.05", places=6), max_size=2).map(tuple)


@given(shape=SHAPES, zero=st.integers(-8_000_000, 0), span=st.integers(1000, 8_000_000))
def test_zero_and_full_load_are_met_exactly_whatever_the_shape(shape, zero, span):
    trim = trimmed(zero, zero + span, curve=replace(CURVE, shape=shape, shape_covariance=None))
    assert (trim.load_g(Fraction(zero)), trim.load_g(Fraction(zero + span))) == (0, 5000)


@given(shape=SHAPES, full_g=st.fractions(2500, 6000, max_denominator=1000))
def test_a_trim_beside_max_still_meets_its_own_load(shape, full_g):
    trim = trimmed(full_g=full_g, curve=replace(CURVE, shape=shape, shape_covariance=None))
    assert float(trim.load_g(trim.full.counts)) == pytest.approx(float(full_g), rel=1e-15)


@settings(deadline=None)
@given(
    shape=SHAPES,
    zero=st.fractions(-4_000_000, 0, max_denominator=16),
    span=st.fractions(100_000, 4_000_000, max_denominator=16),
    rises=st.booleans(),
    data=st.data(),
)
def test_the_device_evaluates_the_trimmed_curve_to_a_sixteenth_of_a_count(shape, zero, span, rises, data):
    full = zero + span if rises else zero - span
    trim = trimmed(zero, full, curve=replace(CURVE, shape=shape, shape_covariance=None))
    record = decode(trim.coefficients((1, -1)))
    assert (record.max_divisions, record.mantissa, record.power_of_ten) == (50_000, 1, -1)
    low, high = sorted((round(zero), round(full)))
    counts = data.draw(st.integers(low, high))
    fine = Fraction(record.curve.evaluate(counts), 1 << record.curve.binary_exponent) / 10
    per_count = abs(trim.load_g(Fraction(counts + 1)) - trim.load_g(Fraction(counts - 1))) / 2
    assert abs(fine - trim.load_g(Fraction(counts))) <= per_count / 16


def test_every_part_of_the_uncertainty_is_the_change_that_its_cause_makes():
    """The law of propagation (JCGM 100:2008, 5.1.2), with the derivatives taken as differences."""
    u = {"u_load_g": 0.02, "u_counts": (3.0, 4.0)}
    for full_g in (5000, 4000):
        trim = trimmed(full_g=full_g, full=1_840_000 if full_g == 5000 else 1_490_000, **u)
        for counts in (84_000, 500_000, 1_000_000, 1_840_000):
            at = Fraction(counts)

            def change(other: Trim, at=at, trim=trim) -> float:
                return abs(float(other.load_g(at) - trim.load_g(at)))

            parts = trim.u_load(at, u_counts=2.0)
            moved_zero = replace(trim, zero=replace(trim.zero, counts=trim.zero.counts + 3))
            moved_full = replace(trim, full=replace(trim.full, counts=trim.full.counts + 4))
            heavier = replace(trim, full=replace(trim.full, load_g=trim.full.load_g + Fraction(2, 100)))
            assert parts.zero_g == pytest.approx(change(moved_zero), rel=1e-4, abs=1e-12)
            assert parts.full_counts_g == pytest.approx(change(moved_full), rel=1e-4, abs=1e-12)
            assert parts.full_load_g == pytest.approx(change(heavier), rel=1e-4, abs=1e-12)
            assert parts.reading_g == pytest.approx(abs(float(trim.load_g(at + 2) - trim.load_g(at))), rel=1e-4)


def test_the_shapes_part_is_nothing_at_both_trimmed_loads_and_most_between():
    trim = trimmed()
    shape = [trim.u_load(Fraction(84_000 + k * 175_600)).shape_g for k in range(11)]
    assert shape[0] == shape[10] == 0
    assert max(shape) == max(shape[4:7])
    # at q = 1/2: (q**2 - q, q**3 - q) = (-1/4, -3/8)
    expected = 5000 * (4e-9 / 16 - 2 * 1e-9 * 3 / 32 + 9e-9 * 9 / 64) ** 0.5
    assert shape[5] == pytest.approx(expected, rel=1e-12)


def test_the_shapes_part_is_nothing_at_a_trimmed_load_beside_max():
    trim = trimmed(full_g=4000, full=1_490_000)
    assert trim.u_load(trim.full.counts).shape_g == pytest.approx(0, abs=1e-12)
    assert trim.u_load(Fraction(1_840_000)).shape_g > 0.1


def test_a_single_unit_leaves_the_shapes_part_open():
    parts = trimmed(curve=replace(CURVE, shape_covariance=None), u_counts=(3.0, 4.0)).u_load(Fraction(900_000))
    assert parts.shape_g is None
    assert parts.combined_g == pytest.approx((parts.zero_g**2 + parts.full_counts_g**2) ** 0.5)


@pytest.mark.parametrize(
    ("full_g", "full", "message"),
    [
        (2000, 800_000, "expected 0 g and Max, 5000 g, or at least half of it"),
        (7000, 2_000_000, "at least half"),
        (5000, 84_000, "same counts"),
    ],
)
def test_a_trim_that_settles_nothing_is_refused(full_g, full, message):
    with pytest.raises(InputError, match=message):
        trimmed(full_g=full_g, full=full)


def test_a_division_that_the_device_can_not_evaluate_is_refused():
    with pytest.raises(InputError, match="no curve can be stored"):
        trimmed(full=84_100).coefficients((1, -6))


def test_a_file_gives_back_the_curve_to_the_last_digit(tmp_path):
    for curve in (CURVE, replace(CURVE, shape=(), shape_covariance=()), replace(CURVE, shape_covariance=None)):
        write_type_curve(tmp_path / "type.json", curve)
        assert read_type_curve(tmp_path / "type.json") == curve


DOCUMENT = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@settings(deadline=None)
@given(data=st.data())
def test_a_file_with_any_one_value_replaced_is_a_type_curve_or_one_clear_error(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("type") / "type.json"
    write_type_curve(path, CURVE)
    document = json.loads(path.read_text())
    document[data.draw(st.sampled_from(sorted(document)))] = data.draw(DOCUMENT)
    path.write_text(json.dumps(document))
    try:
        curve = read_type_curve(path)
    except InputError as error:
        assert str(error).startswith(str(path))
        assert "\n" not in str(error)
    else:
        assert trimmed(curve=curve, full_g=Fraction(curve.max_g)).load_g(Fraction(84_000)) == 0


@pytest.mark.parametrize("content", [b"", b"\x00\xff", b"[]", b"{}", b'"text"', b"[" * 5000, b'{"format": "else"}'])
def test_a_file_that_is_no_type_curve_is_refused_in_one_line(tmp_path, content):
    path = tmp_path / "type.json"
    path.write_bytes(content)
    with pytest.raises(InputError, match=r"no type curve|expected the format"):
        read_type_curve(path)


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(InputError, match=r"none\.json: cannot be read"):
        read_type_curve(tmp_path / "none.json")


@pytest.mark.parametrize("shape", [["-1.1"], ["0", "-0.6"], ["0", "0", "0"], ["NaN"]])
def test_a_shape_that_turns_back_is_refused(tmp_path, shape):
    write_type_curve(tmp_path / "type.json", replace(CURVE, shape=tuple(map(Decimal, shape)), shape_covariance=None))
    with pytest.raises(InputError, match="no type curve"):
        read_type_curve(tmp_path / "type.json")
