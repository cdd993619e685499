"""The certified calibration of a real load cell, beside what our own arithmetic makes of the same data."""

import json

from scalewright.analysis.agreement import Agreement, compare
from scalewright.analysis.polynomial import fit_observations
from scalewright.examples import EXAMPLES, example_path
from scalewright.recordings import read_observations

SOURCE = "calibration of a load cell, data set Pontius of the NIST/ITL Statistical Reference Datasets"


def pontius_comparison() -> list[Agreement]:
    """Return each certified figure of the data set beside ours: coefficients, standard errors, residual sd, R2."""
    with open(example_path("pontius_certified.json"), encoding="utf-8") as stream:
        certified = json.load(stream)
    observations = read_observations(example_path(EXAMPLES["pontius"]))
    return compare(fit_observations(observations, certified["degree"]), certified)
