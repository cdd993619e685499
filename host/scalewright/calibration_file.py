"""One calibration of a scale as a person writes it down: a TOML file of our own layout, masses in g.

scenario = "invented, ..."            # any text, optional

[scale]
max_g = 3000
division_g = 0.1
division_at_zero_g = 0.1              # optional: where the scale resolves zero otherwise

[repeatability]
indications_g = [[1500.1, 1500.0, ...], ...]    # one list a series; several are pooled

[eccentricity]
load_g = 1000
centre_g = 1000.0
off_centre_g = [1000.2, 999.9, ...]

[air]
case = "adjusted before"              # or "not adjusted", "room temperature known" (with span_k), "corrected" (with
                                      # kg_m3, u_kg_m3; optional: at_adjustment_kg_m3, u_at_adjustment_kg_m3, and of
                                      # the weights weights_kg_m3, u_weights_kg_m3)

[weights."500 g"]                     # any name; the points refer to it
nominal_g = 500
mpe_g = 0.025                         # maximum permissible error of its class
correction_g = 0.004                  # optional, as are all that follow: see `Weight`
expanded_u_g = 0.008
k = 2
drift_g = 0.01
convection_g = 0

[[points]]
weights = ["500 g"]                   # empty: the empty scale
indication_g = 500.1
readings = 1                          # optional, as are all that follow: see `AppliedLoad`
division_g = 0.01
ballast_g = 0
u_substituted_indications_g = []

[use]                                 # optional: the conditions of use, see `Conditions`
temperature_coefficient_per_k = 1.5e-5
temperature_span_k = 10
adjustment_drift = 3e-5
air_varies = false
required_relative = [0.01, 0.001]     # the relative accuracies wanted
safety_factors = [1, 2, 3]
"""

import os
from dataclasses import dataclass

from scalewright.analysis.air import AirDensity
from scalewright.analysis.buoyancy import STEEL, Material
from scalewright.analysis.error_of_indication import (
    AdjustedBefore,
    AppliedLoad,
    Buoyancy,
    Corrected,
    NotAdjusted,
    Repeatability,
    RoomTemperatureKnown,
    ScaleUnderTest,
    Weight,
    eccentricity,
)
from scalewright.analysis.in_use import Conditions
from scalewright.toml_file import TomlTable, parse_toml, read_toml

_CASES = ("adjusted before", "not adjusted", "room temperature known", "corrected")


@dataclass(frozen=True)
class Wanted:
    """How the scale is used, and how accurate it is wanted to be."""

    conditions: Conditions
    required_relative: tuple[float, ...]
    safety_factors: tuple[float, ...]


@dataclass(frozen=True)
class CalibrationFile:
    """What one file holds."""

    file: str
    scenario: str
    max_g: float
    scale: ScaleUnderTest
    loads: tuple[AppliedLoad, ...]
    use: Wanted | None


def read_calibration(path: str | os.PathLike[str]) -> CalibrationFile:
    """Return the calibration in a file. Raises InputError naming file, line and key, and what was expected."""
    return _calibration(read_toml(path))


def parse_calibration(data: bytes, file: str) -> CalibrationFile:
    """Return the calibration in the bytes of a file, as `read_calibration` does."""
    return _calibration(parse_toml(data, file))


def _calibration(root: TomlTable) -> CalibrationFile:
    scale = root.table("scale")
    weights = {name: _weight(table) for name, table in root.table("weights").tables().items()}
    calibration = CalibrationFile(
        root.file,
        root.text("scenario", ""),
        scale.number("max_g", 0, above=True),
        ScaleUnderTest(
            scale.number("division_g", 0, above=True),
            _repeatability(root.table("repeatability")),
            _eccentricity(root.table("eccentricity")),
            _buoyancy(root.table("air")),
            scale.number("division_at_zero_g", 0) if "division_at_zero_g" in scale else None,
        ),
        tuple(_load(table, weights) for table in root.array("points")),
        _wanted(root.table("use")) if "use" in root else None,
    )
    root.check_all_read()
    if calibration.use is not None and not any(load.indication_g for load in calibration.loads):
        raise root.problem("points", "no load but zero; expected another one, to tell the uncertainty in use")
    return calibration


def _weight(table: TomlTable) -> Weight:
    return Weight(
        table.number("nominal_g", 0, above=True),
        table.number("mpe_g", 0),
        table.number("correction_g", None, 0.0),
        table.number("expanded_u_g", 0) if "expanded_u_g" in table else None,
        table.number("k", 0, 2.0, above=True),
        table.number("drift_g", 0, 0.0),
        table.number("convection_g", 0, 0.0),
    )


def _repeatability(table: TomlTable) -> Repeatability:
    series = table.series("indications_g")
    if min(map(len, series), default=0) < 2:
        raise table.problem("indications_g", "fewer than 2 indications in a series; expected at least 2")
    return Repeatability.of(*series)


def _eccentricity(table: TomlTable) -> float:
    load_g, centre_g = table.number("load_g", 0, above=True), table.number("centre_g")
    return eccentricity(load_g, centre_g, table.numbers("off_centre_g"))


def _buoyancy(table: TomlTable) -> Buoyancy:
    match table.text("case"):
        case "adjusted before":
            return AdjustedBefore()
        case "not adjusted":
            return NotAdjusted()
        case "room temperature known":
            return RoomTemperatureKnown(table.number("span_k", 0))
        case "corrected":
            return _corrected(table)
        case other:
            raise table.problem("case", f"{other[:40]!a} found; expected one of {', '.join(_CASES)}")


def _corrected(table: TomlTable) -> Corrected:
    """Without air at adjustment the scale was adjusted in the very air of the test."""
    air = AirDensity("at the test", table.number("kg_m3", 0, above=True), table.number("u_kg_m3", 0))
    then = air
    if "at_adjustment_kg_m3" in table:
        kg_m3, u_kg_m3 = table.number("at_adjustment_kg_m3", 0, above=True), table.number("u_at_adjustment_kg_m3", 0)
        then = AirDensity("at adjustment", kg_m3, u_kg_m3)
    kg_m3 = table.number("weights_kg_m3", 500, STEEL.kg_m3)
    return Corrected(air, then, Material("weights", kg_m3, table.number("u_weights_kg_m3", 0, STEEL.u_kg_m3)))


def _load(table: TomlTable, weights: dict[str, Weight]) -> AppliedLoad:
    names = table.texts("weights")
    for name in names:
        if name not in weights:
            raise table.problem("weights", f"{name[:40]!a} found; expected names of [weights]: {', '.join(weights)}")
    return AppliedLoad(
        tuple(weights[name] for name in names),
        table.number("indication_g"),
        table.whole_number("readings", 1, 1),
        table.number("division_g", 0, above=True) if "division_g" in table else None,
        table.number("ballast_g", None, 0.0),
        table.numbers("u_substituted_indications_g", 0, ()),
    )


def _wanted(table: TomlTable) -> Wanted:
    conditions = Conditions(
        table.number("temperature_coefficient_per_k", 0, 0.0),
        table.number("temperature_span_k", 0, 0.0),
        table.number("adjustment_drift", 0, 0.0),
        table.flag("air_varies", False),
    )
    required, factors = table.numbers("required_relative", 0, (0.001,)), table.numbers("safety_factors", 1, (1.0,))
    return Wanted(conditions, required, factors)
