"""The density of water."""

import pytest

from scalewright.analysis.water import water_density_kg_m3
from scalewright.errors import InputError
from tests.host.reference_tables import rows

TABLE = rows("water_density.csv")


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row['temperature_c']} °C")
def test_the_recommended_table_comes_back_to_every_digit(row):
    """Tanaka et al., Metrologia 38 (2001) 301-309; 4 °C lies on a half of the last digit."""
    value = water_density_kg_m3(float(row["temperature_c"]))
    assert value == pytest.approx(float(row["density_kg_m3"]), abs=5.0001e-5)


@pytest.mark.parametrize("t", range(5, 41, 5))
def test_an_independent_formula_agrees_but_for_dissolved_air(t):
    """F. E. Jones and G. L. Harris, J. Res. NIST 97 (1992) 335-340: water saturated with air, 2 to 4 g/m3 lighter."""
    saturated = 999.85308 + 6.32693e-2 * t - 8.523829e-3 * t**2 + 6.943248e-5 * t**3 - 3.821216e-7 * t**4
    assert 0.001 < water_density_kg_m3(t) - saturated < 0.0045


@pytest.mark.parametrize("t", [-0.1, 40.1, float("nan")])
def test_outside_the_range_of_the_formula_it_is_refused(t):
    with pytest.raises(InputError, match="expected 0 to 40 °C"):
        water_density_kg_m3(t)
