"""Air density against the table of three formulas, and against CIPM-2007 over the whole range."""

from math import exp, hypot

import pytest

from scalewright.analysis.air import Climate, air_density, standard_pressure_hpa
from scalewright.errors import InputError
from tests.host.reference_tables import rows

TABLE = rows("air_density_check.csv")


def cipm_2007(t, p_hpa, h):
    """A. Picard et al., Metrologia 45 (2008) 149-155, 400 ppm CO2; constants from memory, checked by the table."""
    p, absolute = 100 * p_hpa, t + 273.15
    saturation = exp(1.2378847e-5 * absolute**2 - 1.9121316e-2 * absolute + 33.93711047 - 6.3431645e3 / absolute)
    x = h / 100 * (1.00062 + 3.14e-8 * p + 5.6e-7 * t**2) * saturation / p
    first = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t**2
    first += (5.707e-6 - 2.051e-8 * t) * x + (1.9898e-4 - 2.376e-6 * t) * x**2
    z = 1 - p / absolute * first + (p / absolute) ** 2 * (1.83e-11 - 0.765e-8 * x**2)
    return 3.483740e-3 * p / (z * absolute) * (1 - 0.3780 * x)


def climate(row):
    return Climate(float(row["t_degC"]), float(row["p_hPa"]), float(row["rh_percent"]))


@pytest.mark.parametrize("row", TABLE)
def test_the_simplified_formula_gives_every_printed_digit(row):
    """OIML R 111-1:2004, E.3-1."""
    assert f"{air_density('here', climate(row)).kg_m3:.7f}" == row["rho_simplified_kgm3"]


@pytest.mark.parametrize("row", TABLE)
def test_the_other_formulas_agree_within_the_claimed_uncertainty(row):
    ours = air_density("here", climate(row)).kg_m3
    assert f"{cipm_2007(*map(float, (row['t_degC'], row['p_hPa'], row['rh_percent']))):.7f}" == row["rho_cipm2007_kgm3"]
    for other in ("rho_cipm2007_kgm3", "rho_nist_sop2_optionB_kgm3"):
        assert ours == pytest.approx(float(row[other]), rel=2e-4)


def worst(temperatures, pressures, humidities):
    return max(
        abs(air_density("here", Climate(t, p, h)).kg_m3 / cipm_2007(t, p, h) - 1)
        for t in temperatures
        for p in pressures
        for h in humidities
    )


def test_in_its_range_the_formula_is_right_to_twice_its_uncertainty():
    assert worst(range(10, 31, 4), range(900, 1101, 50), range(0, 81, 20)) < 3e-4


def test_where_we_take_it_beyond_its_range_it_is_right_to_what_we_add():
    assert worst(range(0, 36, 5), range(600, 1101, 100), range(0, 91, 30)) < 1e-3


def test_the_readings_bring_their_uncertainty():
    """Against central differences of the formula itself."""
    c = Climate(23, 980, 60, u_temperature_c=0.4, u_pressure_hpa=1.5, u_humidity_percent=7)

    def change(**at):
        low, high = ({name: value + sign * 1e-3 for name, value in at.items()} for sign in (-1, 1))
        values = [
            air_density("here", Climate(**{"temperature_c": 23, "pressure_hpa": 980, "humidity_percent": 60} | d))
            for d in (low, high)
        ]
        return (values[1].kg_m3 - values[0].kg_m3) / 2e-3

    here = air_density("here", c)
    parts = change(temperature_c=23) * 0.4, change(pressure_hpa=980) * 1.5, change(humidity_percent=60) * 7
    assert here.u_kg_m3 == pytest.approx(hypot(2e-4 * here.kg_m3, *parts), rel=1e-6)


def test_beyond_its_range_the_result_says_so():
    low = air_density("here", Climate(20, 720, 50, 0, 0, 0))
    assert low.caution.startswith("pressure 720 hPa: outside the formula's range")
    assert low.u_kg_m3 == pytest.approx(1e-3 * low.kg_m3)
    assert air_density("here", Climate(10, 900, 80)).caution == ""
    assert air_density("here", Climate(30, 1100, 0)).caution == ""


@pytest.mark.parametrize(
    ("reading", "message"),
    [
        (Climate(36, 1000, 50), "temperature 36 °C; expected 0 to 35 °C"),
        (Climate(20, 100, 50), "pressure 100 hPa; expected 600 to 1100 hPa"),
        (Climate(20, 1000, float("nan")), "humidity nan %; expected 0 to 90 %"),
    ],
)
def test_out_of_all_reason_it_is_refused(reading, message):
    with pytest.raises(InputError, match=message):
        air_density("here", reading)


# International standard atmosphere, ISO 2533:1975, table (from memory).
@pytest.mark.parametrize(
    ("height_m", "p_hpa"), [(0, 1013.25), (500, 954.61), (1000, 898.76), (2000, 795.01), (3000, 701.21)]
)
def test_the_usual_pressure_follows_the_standard_atmosphere(height_m, p_hpa):
    assert standard_pressure_hpa(height_m) == pytest.approx(p_hpa, rel=2e-4)
