"""The error plot: every error where its numbers put it, by reading the picture back with an XML parser."""

import re
from dataclasses import replace

import pytest
from lxml import etree

from scalewright.certificates.error_plot import HEIGHT, WIDTH, draw
from tests.host.certificates.cases import BALANCE, CASES, KITCHEN

SVG = "{http://www.w3.org/2000/svg}"


def paths(svg: str) -> list[etree._Element]:
    return list(etree.fromstring(svg).iter(f"{SVG}path"))


def tops_and_bottoms(svg: str) -> list[tuple[float, float, float]]:
    """Return x, top and bottom of every uncertainty bar."""
    bars = re.findall(r'd="M([\d.]+),([\d.]+)V([\d.]+)M', svg)
    return [(float(x), float(top), float(bottom)) for x, top, bottom in bars]


@pytest.mark.parametrize("name", CASES)
def test_each_point_is_there_with_its_uncertainty_to_scale(name: str) -> None:
    points = [point for test in CASES[name].tests for point in test.points]
    bars = tops_and_bottoms(draw(CASES[name]))
    assert len(bars) == len(points)
    height_of_2u = [bottom - top for _, top, bottom in bars]
    pixels_per_g = height_of_2u[-1] / (2 * points[-1].expanded_u_g)
    for (_, top, bottom), point in zip(bars, points, strict=True):
        middle = (top + bottom) / 2
        reference = (bars[-1][1] + bars[-1][2]) / 2
        expected = (float(points[-1].error_g) - float(point.error_g)) * pixels_per_g
        assert bottom - top == pytest.approx(2 * point.expanded_u_g * pixels_per_g, abs=0.3)
        assert middle - reference == pytest.approx(expected, abs=2.5)


@pytest.mark.parametrize("name", CASES)
def test_everything_is_inside_the_picture(name: str) -> None:
    for x, top, bottom in tops_and_bottoms(draw(CASES[name])):
        assert 0 <= x <= WIDTH
        assert 0 <= top <= bottom <= HEIGHT


def test_the_band_has_a_step_at_each_change_of_the_limit() -> None:
    band = next(path for path in paths(draw(KITCHEN)) if path.get("d", "").endswith("Z"))
    assert band.get("d", "").count(",") == 2 * 2 * len(KITCHEN.limits.steps if KITCHEN.limits else ())


def test_without_limits_there_is_no_band() -> None:
    assert "limits" not in draw(replace(BALANCE, limits=None))


def test_as_found_is_drawn_open_and_as_left_filled() -> None:
    marks = [path.get("fill") for path in paths(draw(KITCHEN)) if path.get("d", "").endswith("z")]
    found, left = (len(test.points) for test in KITCHEN.tests)
    assert marks.count("#ffffff") == found + 2  # and two in the legend
    assert marks.count("#1b1b1b") == left + 2


def test_the_same_facts_give_the_same_picture() -> None:
    assert draw(KITCHEN) == draw(KITCHEN)
