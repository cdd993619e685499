"""What a technician wants to know of the readings: noise, drift, temperature, how many come and how many were lost."""

from textual.content import Content
from textual.widgets import Static

from scalewright.link.diagnosis import DeviceDiagnosis
from scalewright.terminal.bench import Bench
from shared_calc.coefficient_record import CoefficientRecord


def grams_a_count(record: CoefficientRecord) -> float:
    """Return how many grams a count is, on the average over what the curve covers."""
    curve = record.curve
    low, high = curve.centre - curve.half, curve.centre + curve.half - 1
    divisions = (curve.evaluate(high) - curve.evaluate(low)) / (1 << curve.binary_exponent)
    return abs(float(divisions / (high - low) * record.mantissa * 10.0**record.power_of_ten))


def figures_of(bench: Bench, diagnosis: DeviceDiagnosis | None) -> list[tuple[str, str]]:
    """Return names and values, in the order they are shown."""
    drift, rate = bench.trace.drift_a_minute(), bench.trace.rate_hz()
    latest = bench.latest
    known_temperature = latest is not None and latest.temperature_c is not None
    return [
        ("noise", _noise(bench, diagnosis)),
        ("drift", "wait …" if drift is None else f"{drift:+.2f} {bench.trace.unit}/min"),
        ("temperature", f"{latest.temperature_c:.1f} °C" if latest and known_temperature else "not known"),
        ("readings", "wait …" if rate is None else f"{rate:.3g} a second"),
        ("missed", str(bench.live.readings_missed) if bench.live else "0"),
    ]


def _noise(bench: Bench, diagnosis: DeviceDiagnosis | None) -> str:
    if diagnosis is None or diagnosis.noise_counts is None:
        return "wait …"
    record = bench.line.record
    in_counts = f"{diagnosis.noise_counts} counts"
    return f"{diagnosis.noise_counts * grams_a_count(record):.2g} g, {in_counts}" if record else in_counts


class Figures(Static):
    """A small table of them."""

    _shown: object = None

    def show(self, bench: Bench, diagnosis: DeviceDiagnosis | None) -> None:
        """Bring them up to date."""
        figures = figures_of(bench, diagnosis)
        if figures == self._shown:
            return
        self._shown = figures
        lines = [Content.assemble((f"{name:12}", "$secondary"), value) for name, value in figures]
        self.update(Content("\n").join(lines), layout=False)
