"""`scalewright mass`, by its face."""

import json

import pytest

from scalewright.command_line.main import run


def result(capsys, *words):
    assert run(["mass", *words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_a_class_weight(capsys):
    found = result(capsys, "weight", "--class", "M1", "--nominal", "200")
    assert (found["value_g"], found["u_value_g"], found["expanded_u_value_g"]) == (200, 0.00577, 0.01154)


def test_a_value_in_another_unit(capsys):
    """1 lb = 453.59237 g (1959): 4.5359237 g is a hundredth of it."""
    words = "scale", "--reading", "453.59237", "--division", "0.00001", "--u-error", "0.00001", "--unit", "lb"
    assert result(capsys, *words)["value_in_unit"] == 1


def test_water_names_its_components(capsys):
    found = result(capsys, "water", "--volume", "500", "--u-volume", "1", "--temperature", "20")
    assert found["value_g"] == 498.58
    assert found["components"][0] == {"name": "volume", "u_value_g": pytest.approx(0.9982067, abs=1e-7)}


def test_coins_are_listed(capsys):
    assert "EUR 2" in result(capsys, "coin")["coins"]


def test_the_report_warns_of_worn_coins(capsys):
    assert run(["mass", "coin", "EUR 2", "--number", "10"]) == 0
    report = capsys.readouterr().out
    assert report.startswith("10 x EUR 2: 85 g, u = 1.47 g (k = 1)")
    assert "caution: coins wear" in report


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["coin", "EUR 3"], "coin 'EUR 3' is not in the table"),
        (["coin", "EUR 2", "--unit", "kati"], "differs from place to place"),
        (
            ["water", "--volume", "x", "--u-volume", "1", "--temperature", "20"],
            "--volume 'x'; expected a number from 0",
        ),
        (["weight", "--class", "M1", "--nominal", "nan"], "--nominal 'nan'; expected a number from 0"),
        (["scale", "--reading", "1e99", "--division", "1", "--u-error", "1"], "--reading '1e99'; expected a number"),
    ],
)
def test_bad_input_is_one_line_and_exit_code_2(capsys, words, message):
    assert run(["mass", *words]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1
    assert message in captured.err
