"""`scalewright decide`, by its face."""

import json

import pytest

from scalewright.command_line.main import run


def decided(capsys, *words):
    code = run(["decide", *words, "--json"])
    return code, json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("error", "rule", "outcome", "code"),
    [
        ("0.3", "simple", "accept", 0),
        ("0.4", "guarded", "reject", 1),
        ("0.4", "conditional", "conditional accept", 0),
        ("-0.6", "conditional", "conditional reject", 1),
        ("-0.8", "conditional", "reject", 1),
        ("0.33", "0.83", "accept", 0),
        ("0.6", "-1", "accept", 0),
    ],
)
def test_the_exit_code_is_the_answer(capsys, error, rule, outcome, code):
    """Limit 0.5 g, U = 0.2 g: ILAC-G8:09/2019, 4.2."""
    found_code, found = decided(capsys, "--error", error, "--expanded", "0.2", "--limit", "0.5", "--rule", rule)
    assert (found["outcome"], found_code) == (outcome, code)
    assert found["u_error_g"] == 0.1


def test_at_the_acceptance_limit_u_leaves_two_per_cent(capsys):
    """JCGM 106:2012, 8.3: w = U, k = 2: 2.275 %."""
    _, found = decided(capsys, "--error", "0.3", "--u", "0.1", "--limit", "0.5", "--rule", "guarded")
    assert found["conformance_probability"] == pytest.approx(1 - 0.0227501319482)
    assert found["acceptance_limit_g"] == 0.3


@pytest.mark.parametrize(
    ("words", "limit_g"),
    [
        (["--class", "III", "--division", "1", "--load", "500"], 0.5),  # OIML R 76-1:2006, table 6
        (["--class", "III", "--division", "1", "--load", "501", "--in-service"], 2.0),
        (["--handbook-44", "III", "--division", "1", "--load", "600", "--in-service"], 2.0),  # from memory
        (["--weight-class", "M1", "--load", "200"], 0.01),  # OIML R 111-1:2004, table 1
    ],
)
def test_limits_by_class(capsys, words, limit_g):
    _, found = decided(capsys, "--error", "0", "--u", "0.001", *words)
    assert found["limit_g"] == limit_g
    assert found["limit_source"] != "stated"


def test_a_limit_from_an_own_table(capsys, tmp_path):
    table = tmp_path / "limits.csv"
    table.write_text("load_g,limit_g\n100,0.2\n", encoding="utf-8")
    _, found = decided(capsys, "--error", "0.1", "--u", "0.01", "--table", str(table), "--load", "80")
    assert (found["limit_g"], found["limit_source"]) == (0.2, "own table limits.csv, rule step")


def test_the_risk_over_all_scales(capsys):
    """JCGM 106:2012, 9.5 with C_m = 2: limits of 1 g, sd a third, u a quarter of it: 0.1 % and 1.5 %."""
    words = "--error", "0", "--u", "0.25", "--limit", "1", "--prior-sd", "0.33333333333333"
    _, found = decided(capsys, *words)
    assert (round(found["consumer_risk"], 3), round(found["producer_risk"], 3)) == (0.001, 0.015)


def test_the_report_leads_with_the_answer(capsys):
    assert run(["decide", "--error", "0.4", "--u", "0.4", "--limit", "0.5", "--rule", "guarded"]) == 1
    report = capsys.readouterr().out
    assert report.startswith("reject\n")
    assert "accepted up to           nothing: the uncertainty is larger than the limit" in report


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--error", "x", "--u", "1", "--limit", "1"], "--error 'x'; expected a number"),
        (["--error", "1", "--u", "-1", "--limit", "1"], "--u '-1'; expected a number from 0"),
        (["--error", "1", "--u", "1", "--class", "III"], "--division is missing: the limit depends on it"),
        (["--error", "1", "--u", "1", "--weight-class", "M1"], "--load is missing: the limit depends on it"),
        (["--error", "1", "--u", "1", "--class", "V", "--division", "1", "--load", "1"], "accuracy class 'V'"),
        (["--error", "1", "--u", "1", "--limit", "1", "--rule", "mine"], "--rule 'mine'; expected a number from -1"),
        (["--error", "1", "--u", "1", "--table", "no.csv", "--load", "1"], "no.csv: cannot be read"),
    ],
)
def test_bad_input_is_one_line_and_exit_code_2(capsys, words, message):
    assert run(["decide", *words]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1
    assert message in captured.err
