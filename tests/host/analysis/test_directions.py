"""What it matters in which direction a curve is fitted: the figures that analysis/README.md states."""

import re
from pathlib import Path

import numpy
import pytest

import scalewright.analysis
from scalewright.analysis.calibration_function import calibration_function
from scalewright.analysis.fit_points import fit_points
from scalewright.analysis.polynomial import fit_to
from scalewright.examples import EXAMPLES, example_path
from scalewright.recordings import read_observations

STATED = [
    list(map(float, row))
    for row in re.findall(
        r"^\| (\d) \| ([\d.]+) \| ([\de.-]+) \| (\d+) \| (\d+) \|$",
        (Path(scalewright.analysis.__path__[0]) / "README.md").read_text(),
        re.M,
    )
]


@pytest.mark.parametrize(("degree", "difference", "part", "u", "scatter"), STATED)
def test_the_two_directions_differ_on_nist_pontius_as_stated(degree, difference, part, u, scatter):
    observations = read_observations(example_path(EXAMPLES["pontius"]))
    counts, loads = (fit_points(observations, response) for response in ("counts", "load"))
    response = calibration_function(fit := fit_to(counts, int(degree)), counts.x)
    direct = calibration_function(fit_to(loads, int(degree)), loads.x)
    deflections = numpy.linspace(float(min(loads.x)), float(max(loads.x)), 4001)
    inverse, u_inverse = response.inverse(deflections)
    differences = numpy.abs(direct.value(deflections) - inverse)
    worst = differences.argmax()
    assert differences[worst] == pytest.approx(difference, rel=3e-3)
    assert differences[worst] / float(max(counts.x)) == pytest.approx(part, rel=0.05)
    assert u_inverse[worst] == pytest.approx(u, rel=5e-3)
    assert fit.residual_sd / response.slope(1.5e6) == pytest.approx(scatter, rel=2e-3)


def test_all_three_degrees_are_stated():
    assert [row[0] for row in STATED] == [1, 2, 3]


def test_the_slopes_of_two_straight_lines_differ_by_what_r_squared_lacks_of_1():
    observations = read_observations(example_path(EXAMPLES["pontius"]))
    there, back = (fit_to(fit_points(observations, response), 1) for response in ("counts", "load"))
    assert float(1 - there.coefficients[1] * back.coefficients[1]) == pytest.approx(1 - there.r_squared, rel=1e-9)
