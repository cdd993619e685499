"""Tables from datasheets; their sources are in tests/reference_data."""

from tests.host.reference_tables import rows

SIGNED_CODES = [int(row["signed"]) for row in rows("adc_codes_check.csv")]
"""24-bit two's complement, as all the ADCs give it."""
TEMPERATURE_CODES = [(int(row["hex16"], 16), float(row["temp_degC"])) for row in rows("ds18b20_check.csv")]
"""Of the DS18B20: 16-bit code, temperature in C."""
