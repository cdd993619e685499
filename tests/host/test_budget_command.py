"""`scalewright budget` and the file it reads, by their face."""

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scalewright.analysis.error_of_indication import Corrected, NotAdjusted, RoomTemperatureKnown
from scalewright.calibration_file import parse_calibration
from scalewright.command_line.main import run
from scalewright.errors import InputError
from scalewright.examples import example_path
from tests.host.reference_tables import REFERENCE_DATA

with open(example_path("budget_3kg.toml"), encoding="utf-8") as stream:
    EXAMPLE = stream.read()
CONSTRUCTED = json.loads((REFERENCE_DATA / "euramet_cg18_constructed.json").read_text(encoding="utf-8"))


def constructed_file(folder):
    """Write the constructed example (ours, cg-18 formulas) in the layout of calibration files."""
    given = CONSTRUCTED["inputs"]
    pan, points, use = given["eccentricity_g"], given["points"], given["use"]
    corners = [pan[corner] for corner in ("fl", "fr", "bl", "br")]
    lines = [
        f"[scale]\nmax_g = {given['Max_g']}\ndivision_g = {given['d_g']}",
        f"[repeatability]\nindications_g = {given['repeatability_g']}",
        f"[eccentricity]\nload_g = {pan['load']}\ncentre_g = {pan['centre']}\noff_centre_g = {corners}",
        '[air]\ncase = "adjusted before"',
    ]
    for p in points[1:]:
        certificate = f"correction_g = {p['dm_c']}\nexpanded_u_g = {p['U_c']}\nmpe_g = {p['mpe']}\ndrift_g = {p['D']}"
        lines.append(f"[weights.{p['m_N']}]\nnominal_g = {p['m_N']}\n{certificate}")
    for p in points:
        lines.append(f"[[points]]\nweights = {[str(p['m_N'])] if p['m_N'] else []}\nindication_g = {p['I']}")
    lines.append(
        f"[use]\ntemperature_coefficient_per_k = {use['K_T_per_K']}\ntemperature_span_k = {use['dT_K']}\n"
        f"adjustment_drift = {use['adj_drift_rel']}\nrequired_relative = [0.01, 0.001]\nsafety_factors = [1, 2, 3]"
    )
    path = folder / "constructed.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return str(path)


def result(capsys, *words):
    assert run(["budget", *words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_the_constructed_example_from_file_to_minimum_weight(tmp_path, capsys):
    found, expected = result(capsys, constructed_file(tmp_path)), CONSTRUCTED["results"]
    for point, wanted in zip(found["points"], expected["points"], strict=True):
        assert point["error_g"] == pytest.approx(wanted["E"], abs=1e-9)
        assert point["budget"]["expanded_u_g"] == pytest.approx(wanted["U_E_kt"], rel=1e-8)
    use = expected["in_use"]
    assert found["in_use"]["alpha_g"] == pytest.approx(use["line"]["alpha_g"], rel=1e-8)
    weights = [m["minimum_g"] for m in found["in_use"]["minimum_weights"]]
    assert weights == pytest.approx([m["R_min_g"] for m in use["minimum_weight"]], rel=1e-8)


def test_the_example_is_marked_as_invented_and_works(capsys):
    assert run(["budget", "--example"]) == 0
    text = capsys.readouterr().out
    assert text.startswith("invented")
    assert max(map(len, text.splitlines())) <= 120
    for words in ("repeatability", "U(E) holds 95.45 %", "error line", "minimum weight"):
        assert words in text


def test_monte_carlo_stands_beside_each_budget(capsys):
    """Near Max many components make the budget's normal distribution right; at zero three of them hardly do."""
    found = result(capsys, "--example", "--monte-carlo")
    last = found["points"][-1]
    assert last["monte_carlo"]["budget_holds"] is True
    assert last["monte_carlo"]["u_error_g"] == pytest.approx(last["u_error_g"], rel=0.03)
    assert run(["budget", "--example", "--monte-carlo"]) == 0
    assert "holds: both ends within" in capsys.readouterr().out


def test_a_file_without_use_has_no_use(tmp_path, capsys):
    path = tmp_path / "x.toml"
    path.write_text(EXAMPLE.partition("[use]")[0], encoding="utf-8")
    assert "in_use" not in result(capsys, str(path))
    assert run(["budget", str(path)]) == 0
    assert "in use" not in capsys.readouterr().out


def test_the_empty_scale_alone_tells_nothing_of_use():
    start, _, points = EXAMPLE.partition("[[points]]")
    empty = f"{start}[[points]]{points.partition('[[points]]')[0]}[use]\n"
    with pytest.raises(InputError, match="line 42, column points: no load but zero"):
        parsed(empty)


@pytest.mark.parametrize("words", [[], ["x.toml", "--example"]])
def test_one_file_or_the_example(words, capsys):
    assert run(["budget", *words]) == 2
    assert "budget takes one FILE or --example" in capsys.readouterr().err


def parsed(text):
    return parse_calibration(text.encode(), "x.toml")


def test_every_case_of_air():
    air = 'case = "adjusted before"'
    assert isinstance(parsed(EXAMPLE.replace(air, 'case = "not adjusted"')).scale.buoyancy, NotAdjusted)
    known = parsed(EXAMPLE.replace(air, 'case = "room temperature known"\nspan_k = 5')).scale.buoyancy
    assert known == RoomTemperatureKnown(5)
    measured = 'case = "corrected"\nkg_m3 = 1.18\nu_kg_m3 = 0.002'
    same = parsed(EXAMPLE.replace(air, measured)).scale.buoyancy
    assert isinstance(same, Corrected) and same.air is same.air_at_adjustment
    before = f"{measured}\nat_adjustment_kg_m3 = 1.2\nu_at_adjustment_kg_m3 = 0.003\nweights_kg_m3 = 8400"
    other = parsed(EXAMPLE.replace(air, before)).scale.buoyancy
    assert (other.air_at_adjustment.kg_m3, other.material.kg_m3, other.material.u_kg_m3) == (1.2, 8400, 70)


def test_what_a_point_may_say():
    more = "readings = 3\ndivision_g = 0.01\nballast_g = 0.2\nu_substituted_indications_g = [0.1]"
    load = parsed(EXAMPLE.replace("indication_g = 3000.2", f"indication_g = 3000.2\n{more}")).loads[-1]
    assert (load.readings, load.division_g, load.ballast_g) == (3, 0.01, 0.2)
    assert load.u_substituted_indications_g == (0.1,)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('weights = ["1 kg"]', 'weights = ["3 kg"]', "column points.weights: '3 kg' found; expected names"),
        ('case = "adjusted before"', 'case = "other"', "column air.case: 'other' found; expected one of adju"),
        ("division_g = 0.1", "division_g = 0", "column scale.division_g: 0 found; expected a number above 0"),
        ("max_g = 3000", "max = 3000", "column scale.max_g: missing; expected a number"),
        ("drift_g = 0.003", "drift = 0.003", "column weights.500 g.drift: not known here; expected one of"),
        ("drift_g = 0.003", "drift_g = -1", "column weights.500 g.drift_g: -1 found; expected a number from 0"),
        ("indications_g = [[1500.1, ", "indications_g = [[1], [", "fewer than 2 indications in a series"),
        ("load_g = 1000", "load_g = nan", "column eccentricity.load_g: nan found; expected a finite number"),
        ("[[points]]", "[points]", "expected TOML 1.0"),
    ],
)
def test_bad_files_are_one_line_and_exit_2(old, new, message, tmp_path, capsys):
    assert old in EXAMPLE
    path = tmp_path / "x.toml"
    path.write_text(EXAMPLE.replace(old, new), encoding="utf-8")
    assert run(["budget", str(path)]) == 2
    error = capsys.readouterr().err
    assert message in error
    assert error.count("\n") == 1


@given(st.integers(0, len(EXAMPLE) - 1), st.text(max_size=3))
@settings(max_examples=200, suppress_health_check=[HealthCheck.too_slow])
def test_damage_is_an_input_error_or_harmless(place, text):
    try:
        parse_calibration((EXAMPLE[:place] + text + EXAMPLE[place + 1 :]).encode("utf-8", "replace"), "x.toml")
    except InputError as error:
        assert "\n" not in str(error)
