"""The example that comes with the toolkit is the published data set, digit for digit."""

import csv
import json
from pathlib import Path

from scalewright.examples import EXAMPLES, example_path
from scalewright.examples.pontius import pontius_comparison
from scalewright.recordings import read_observations

STRD = Path(__file__).parents[1] / "reference_data" / "nist_strd"


def test_the_points_are_those_of_the_source():
    points = read_observations(example_path(EXAMPLES["pontius"])).points
    rows = list(csv.DictReader((STRD / "pontius.csv").read_text().splitlines()))
    assert [(str(p.load_g), str(p.counts)) for p in points] == [(row["x"], row["y"]) for row in rows]


def test_the_certified_figures_are_those_of_the_source():
    ours = json.loads(Path(example_path("pontius_certified.json")).read_text())
    source = json.loads((STRD / "pontius.json").read_text())
    for key in ("degree", "estimates", "std_errors", "residual_sd", "r_squared"):
        assert ours[key] == source[key]


def test_every_certified_figure_agrees_in_all_its_15_digits():
    rows = pontius_comparison()
    assert [row.name for row in rows] == [
        "c0", "c1", "c2", "standard error of c0", "standard error of c1", "standard error of c2", "residual sd", "R2",
    ]  # fmt: skip
    assert [(row.ours, row.digits) for row in rows] == [(row.certified, 15) for row in rows]
