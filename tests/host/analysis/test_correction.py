"""Corrections as lines: factors multiply, one input seen twice cancels or adds with its sign."""

import pytest

from scalewright.analysis.correction import Correction, combined


def test_factors_multiply_and_independent_uncertainties_add_in_squares():
    lines = [Correction("one", 1.1, (("a", 3e-6),)), Correction("two", 0.9, (("b", -4e-6),))]
    assert combined(lines) == (pytest.approx(0.99), pytest.approx(5e-6))


def test_one_input_in_two_lines_is_summed_with_its_sign():
    lines = [Correction("one", 1.0, (("a", 3e-6),)), Correction("two", 1.0, (("a", -3e-6), ("b", 1e-6)))]
    assert combined(lines)[1] == pytest.approx(1e-6)
    assert [line.u_relative for line in lines] == [pytest.approx(3e-6), pytest.approx(10**0.5 * 1e-6)]


def test_a_line_that_is_left_out_counts_for_nothing():
    assert combined([Correction("one", 1.1, (("a", 3e-6),), applied=False)]) == (1, 0)
