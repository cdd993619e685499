"""Soaks of the virtual cell with everything known: its parameters are the truth that an analysis is held against."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from scalewright.analysis.soak import Soak
from virtual_scale.load_cell import LoadCell
from virtual_scale.room import Room
from virtual_scale.thermometer import Thermometer

COUNTS_PER_MV_PER_V = 2**24 * 128 / 1000  # HX711 at gain 128, +-0.5 AVDD (its datasheet)
CAPACITY_COUNTS = 2 * COUNTS_PER_MV_PER_V  # 2 mV/V
NOISE_COUNTS = 50e-9 * 128 / 5 * 2**24  # 50 nV rms at 10 SPS and gain 128 (HX711 datasheet, page 3), of 5 V
Step = tuple[float, float, float]  # load_g, duration_s, air_c


def soak(
    plan: Sequence[Step], seed: int = 1, step_s: float = 1.0, noise: float = 1.0, zero_c2: float = 0.0,
    room: Mapping[str, float] | None = None, **cell: object,
) -> Soak:
    """Return a recording of the invented cell of virtual_scale.load_cell, taken every step_s.

    Each reading is the mean of those at 10 a second. noise: times the ADC's. zero_c2: a curvature of the zero that the
    cell itself does not have, in counts / C**2 about 20 C.
    """
    load_cell, air = LoadCell(**cell), Room(**(room or {}))
    now = [0.0]
    thermometer = Thermometer(lambda: now[0], air.cell_c)
    rows = []
    for load_g, duration_s, air_c in plan:
        air.set_air(air_c, now[0])
        load_cell.place(load_g, now[0] + step_s / 2)
        for _ in range(round(duration_s / step_s)):
            now[0] += step_s
            cell_c = air.cell_c(now[0])
            counts = load_cell.output_mv_per_v(now[0], cell_c) * COUNTS_PER_MV_PER_V + zero_c2 * (cell_c - 20) ** 2
            rows.append((now[0], counts, thermometer.read() / 16, load_g))
    time_s, counts, temperature_c, loads_g = np.array(rows).T
    scatter = np.random.default_rng(seed).normal(size=len(rows)) * noise * NOISE_COUNTS / np.sqrt(10 * step_s)
    return Soak(time_s, np.round(counts + scatter), temperature_c, loads_g)


def through_the_range(airs_c: Sequence[float], load_g: float, minutes: float = 45.0) -> list[Step]:
    """Stay at each temperature, first empty and then with the load."""
    return [(load, 60 * minutes, air_c) for air_c in airs_c for load in (0.0, load_g)]


def write_csv(recording: Soak, path: Path) -> str:
    """Write a recording as a file, and return its name."""
    columns = (recording.time_s, recording.counts, recording.temperature_c, recording.load_g)
    rows = (f"{t:.3f},{c:.0f},{'' if np.isnan(a) else a},{g:g}\n" for t, c, a, g in zip(*columns, strict=True))
    path.write_text("time_s,counts,temperature_c,load_g\n" + "".join(rows))
    return str(path)
