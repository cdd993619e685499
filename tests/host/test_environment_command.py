"""`scalewright environment`, by its face."""

import json

import pytest

from scalewright.command_line.main import run


def result(capsys, *words):
    assert run(["environment", *words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_air_and_gravity_of_a_place(capsys):
    """20 °C, 1013.25 hPa, 50 %: 1.1992943 kg/m3 (OIML R 111-1:2004, E.3-1). 45 degrees, 1000 m: 9.803112946 m/s2."""
    here = result(capsys, "--latitude", "45", "--height", "1000", "--pressure", "1013.25")["here"]
    assert here["air_density_kg_m3"] == pytest.approx(1.1992943, abs=6e-8)
    assert here["gravity_m_s2"] == pytest.approx(9.803112946, abs=6e-10)


def test_a_scale_moved_up_to_the_equator(capsys):
    """52.5 degrees and 40 m to 0 degrees and 2850 m: 4204.5 ppm less."""
    words = "--height", "2850", "--latitude", "0", "--adjusted-latitude", "52.5", "--adjusted-height", "40"
    found = result(capsys, *words)
    gravity = found["corrections"][0]
    assert 1 / gravity["factor"] - 1 == pytest.approx(-4204.5e-6, abs=6e-8)
    assert gravity["u_relative"] == pytest.approx(70.7e-6, abs=1e-7)
    assert "outside the formula's range" in found["here"]["caution"]


def test_what_is_switched_off_is_shown_as_left_out(capsys):
    """Water of 1000 kg/m3: 1.001051262 from conventional mass to mass."""
    whole = result(capsys, "--pressure", "1000")
    without = result(capsys, "--pressure", "1000", "--without", "conventional")
    assert whole["left_out_relative"] == 0
    assert without["left_out_relative"] == pytest.approx(0.001051262, abs=6e-10)
    assert whole["mass_g"] / without["mass_g"] - 1 == pytest.approx(without["left_out_relative"])
    assert [line["applied"] for line in without["corrections"]] == [True, True, True, False]


def test_a_surveyed_gravity_is_used_where_it_was_surveyed_only(capsys):
    found = result(capsys, "--gravity", "9.81", "--adjusted-latitude", "50")
    assert found["here"]["gravity_m_s2"] == 9.81
    assert found["at_adjustment"]["gravity_m_s2"] == pytest.approx(9.8107021356, abs=6e-11)


def test_an_unmoved_scale_is_not_blamed_on_gravity(capsys):
    gravity = result(capsys, "--adjusted-temperature", "10")["corrections"][0]
    assert (gravity["factor"], gravity["u_relative"]) == (1, 0)


def test_the_report_shows_each_line(capsys):
    assert run(["environment", "--pressure", "1013.25", "--without", "gravity"]) == 0
    report = capsys.readouterr().out
    for name in ("gravity", "air at adjustment", "air around the load", "conventional mass to mass"):
        assert f"\n{name} " in report
    assert "left out" in report


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--latitude", "91"], "latitude 91"),
        (["--temperature", "60"], "temperature 60 °C; expected 0 to 35 °C"),
        (["--height", "20000"], "height 20000 m"),
        (["--load-density", "1"], "--load-density '1'; expected a number from 10"),
        (["--adjusted-gravity", "g"], "--adjusted-gravity 'g'; expected a number"),
    ],
)
def test_bad_input_is_one_line_and_exit_code_2(capsys, words, message):
    assert run(["environment", *words]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1
    assert message in captured.err
