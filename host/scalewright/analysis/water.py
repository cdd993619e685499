"""The density of water."""

from scalewright.errors import InputError

TEMPERATURE_RANGE_C = (0.0, 40.0)


def water_density_kg_m3(temperature_c: float) -> float:
    """Return the density of pure, air-free water at 101 325 Pa, to about 0.001 kg/m3.

    Source: M. Tanaka et al., "Recommended table for the density of water between 0 °C and 40 °C based on recent
    experimental reports", Metrologia 38 (2001) 301-309. Dissolved air makes it up to 0.005 kg/m3 less, minerals make it
    more. Raises InputError outside 0 to 40 °C.
    """
    low, high = TEMPERATURE_RANGE_C
    if not low <= temperature_c <= high:
        raise InputError(f"water at {temperature_c:g} °C; expected {low:g} to {high:g} °C")
    t = temperature_c
    return 999.974950 * (1 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))
