"""`scalewright analyse --plot` and `--plot-terminal`: the residuals of any model."""

import json
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest

from scalewright.command_line.main import run
from scalewright.command_line.plotting import residual_chart

UP_AND_DOWN = """# degree = 2
load_g,load_u_g,counts,counts_u,n,direction,temperature_c
0,0.001,40010,3,1,up,
1000,0.002,898960,3,1,up,
2000,0.004,1757940,3,1,up,
3000,0.006,2616870,3,1,up,
2000,0.004,1758020,3,1,down,
1000,0.002,899050,3,1,down,
0,0.001,40014,3,1,down,
"""


@pytest.fixture
def points(tmp_path: Path) -> str:
    (tmp_path / "points.csv").write_text(UP_AND_DOWN)
    return str(tmp_path / "points.csv")


@pytest.mark.parametrize("response", ["counts", "load"])
def test_a_chart_holds_every_residual_by_direction(points, response, capsys) -> None:
    assert run(["analyse", points, "--response", response, "--json"]) == 0
    results = json.loads(capsys.readouterr().out)
    chart = residual_chart(results)
    assert [series.label for series in chart.series] == ["up", "down"]
    drawn = {pair for series in chart.series for pair in zip(series.x, series.y, strict=True)}
    key, unit = ("residual_counts", "count") if response == "counts" else ("residual_g", "g")
    assert drawn == {(point["load_g"], point[key]) for point in results["points"]} and len(drawn) == 7
    assert (chart.x_label, chart.y_label) == ("load / g", f"residual / {unit}")


@pytest.mark.parametrize("model", ["polynomial", "effective-variance", "errors-in-both", "piecewise", "two-curve"])
def test_every_model_draws_its_residuals(points, model, tmp_path: Path, capsys) -> None:
    words = ["analyse", points, "--model", model, "--plot-terminal", "--ascii", "--plot", str(tmp_path / "r.svg")]
    assert run(words) == 0
    assert "Residuals of points.csv\nresidual / count\n" in capsys.readouterr().out
    assert ElementTree.parse(tmp_path / "r.svg").getroot().tag.endswith("svg")


def test_points_without_direction_are_one_series(tmp_path: Path, capsys) -> None:
    path = tmp_path / "points.csv"
    path.write_text(UP_AND_DOWN.replace(",up,", ",,").replace(",down,", ",,"))
    assert run(["analyse", str(path), "--plot-terminal"]) == 0
    assert capsys.readouterr().out.rstrip().split("\n")[-1].endswith(" points")
