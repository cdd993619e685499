"""What uncertainty costs: Monte Carlo beside drawing its random numbers, budgets beside the general libraries.

    python benchmarks/uncertainty.py

Needs GTC and uncertainties (the dependency group `crosscheck`). One thread, processor time of this process: so that a
busy machine disturbs the ratios least. Every pair is measured turn by turn in one run, and the shortest time of each
counts.
"""

import os

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"), "1")

import time
import warnings
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import uncertainties

from scalewright.analysis.budget import Budget
from scalewright.analysis.curve_draws import draw_curve
from scalewright.analysis.curve_uncertainty import UncertainPoints, curve_uncertainty
from scalewright.analysis.error_of_indication import (
    AdjustedBefore,
    AppliedLoad,
    Repeatability,
    ScaleUnderTest,
    Weight,
    error_of_indication,
)
from scalewright.analysis.monte_carlo import BLOCK

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # what the import has to say
    import GTC

DRAWS, PARTS = 250_000, 4  # 10**6 draws are timed in parts, because a quiet moment is short
LOADS_G = np.linspace(50.0, 500.0, 10)
COUNTS = 8e5 + 2000 * LOADS_G + np.random.default_rng(1).normal(0, 20, 10)
U_COUNTS, U_LOADS_G, CORRELATION = 20.0, LOADS_G * 2e-5, 0.6
OWN_G, COMMON_G = U_LOADS_G * np.sqrt(1 - CORRELATION), U_LOADS_G * np.sqrt(CORRELATION)


def shortest_s(*works: Callable[[], Any], rounds: int, repeats: int = 1) -> list[float]:
    """Return the shortest processor time of each, measured turn by turn."""
    times = [float("inf")] * len(works)
    for _ in range(rounds):
        for k, work in enumerate(works):
            begun = time.process_time()
            for _ in range(repeats):
                work()
            times[k] = min(times[k], (time.process_time() - begun) / repeats)
    return times


def points(degree: int, u_counts: float = U_COUNTS) -> UncertainPoints:
    return UncertainPoints.of(COUNTS, LOADS_G, degree, u_counts=u_counts, u_load_g=OWN_G, common_u_load_g=COMMON_G)


def draw_numbers(rows: int) -> None:
    """Fill as many rows of normal numbers as the calibration needs, in the same blocks."""
    buffer, generator = np.empty((rows, BLOCK)), np.random.default_rng(0)
    for _ in range(-(-DRAWS // BLOCK)):
        generator.standard_normal(out=buffer)


def monte_carlo(degree: int, places: int, u_counts: float = U_COUNTS) -> None:
    """Everything from the points to estimate, u and interval at each place."""
    for drawn in draw_curve(points(degree, u_counts), np.linspace(9e5, 1.8e6, places), DRAWS):
        drawn.estimate, drawn.u, drawn.symmetric_interval()


def compare_monte_carlo() -> None:
    print(f"Monte Carlo, {PARTS * DRAWS} draws of {len(COUNTS)} points, against drawing the normal numbers it uses")
    for what, degree, places, u_counts, rows in (
        ("line, load at 1 place", 1, 1, U_COUNTS, 21),
        ("quadratic, load at 1 place", 2, 1, U_COUNTS, 21),
        ("cubic, load at 1 place", 3, 1, U_COUNTS, 21),
        ("line, load at 10 places", 1, 10, U_COUNTS, 21),
        ("cubic, exact counts (linear)", 3, 1, 0.0, 11),
    ):
        floor_s, whole_s = shortest_s(
            lambda rows=rows: draw_numbers(rows),
            lambda given=(degree, places, u_counts): monte_carlo(*given),
            rounds=40,
        )
        times_ms = f"{whole_s * PARTS * 1e3:8.0f} ms   numbers{floor_s * PARTS * 1e3:6.0f} ms"
        print(f"  {what:30}{times_ms}   ratio {whole_s / floor_s:5.2f}")


def line_by_objects(x: Sequence[Any], y: Sequence[Any], at: Sequence[float]) -> list[Any]:
    """Return the unweighted straight line at each place, in whatever numbers x and y are."""
    x_mean, y_mean = sum(x) / len(x), sum(y) / len(y)
    slope = sum((a - x_mean) * (b - y_mean) for a, b in zip(x, y, strict=True)) / sum((a - x_mean) ** 2 for a in x)
    return [y_mean + slope * (place - x_mean) for place in at]


def line_by_gtc(at: Sequence[float]) -> list[float]:
    y = [GTC.ureal(load, u, independent=False) for load, u in zip(LOADS_G, U_LOADS_G, strict=True)]
    for i in range(len(y)):
        for j in range(i):
            GTC.set_correlation(CORRELATION, y[i], y[j])
    return [result.u for result in line_by_objects([GTC.ureal(count, U_COUNTS) for count in COUNTS], y, at)]


def line_by_uncertainties(at: Sequence[float]) -> list[float]:
    covariance = np.outer(U_LOADS_G, U_LOADS_G) * (CORRELATION + (1 - CORRELATION) * np.eye(len(LOADS_G)))
    y = uncertainties.correlated_values(LOADS_G, covariance)
    x = [uncertainties.ufloat(count, U_COUNTS) for count in COUNTS]
    return [result.s for result in line_by_objects(x, y, at)]


def compare_lines() -> None:
    print("Straight line through 10 points, masses correlated by 0.6: u of the load at so many places")
    for places in (1, 10, 100):
        at = np.linspace(9e5, 1.8e6, places)
        ours = curve_uncertainty(points(1), at).u_g
        assert np.allclose(ours, line_by_gtc(at), rtol=1e-9) and np.allclose(ours, line_by_uncertainties(at), rtol=1e-6)
        (ours_s,) = shortest_s(lambda at=at: curve_uncertainty(points(1), at), rounds=30, repeats=50)
        gtc_s, uncertainties_s = shortest_s(
            lambda at=at: line_by_gtc(at), lambda at=at: line_by_uncertainties(at), rounds=10
        )
        show(f"{places} places", ours_s, gtc_s, uncertainties_s)


def compare_many_lines() -> None:
    """1000 calibrations of one design, all at once: a simulation, or a scale's history."""
    random, at, one = np.random.default_rng(2), np.linspace(9e5, 1.8e6, 10), points(1)
    counts, loads_g = COUNTS + random.normal(0, 20, (1000, 10)), LOADS_G + random.normal(0, 0.01, (1000, 10))
    many = replace(one, counts=counts, load_g=loads_g)
    (ours_s,) = shortest_s(lambda: curve_uncertainty(many, at).u_g, rounds=30)
    gtc_s, uncertainties_s = shortest_s(lambda: line_by_gtc(at), lambda: line_by_uncertainties(at), rounds=10)
    show("10 places, each of 1000", ours_s / 1000, gtc_s, uncertainties_s)


SCALE = ScaleUnderTest(0.1, Repeatability(0.0667, 9), 5.77e-5, AdjustedBefore())
LOAD = AppliedLoad((Weight(500, 0.025, 0.004, 0.008, 2, 0.01),), 500.1)


def budget_by_objects(quantity: Callable[..., Any], budget: Budget) -> Any:
    return budget.estimate + sum(c.sensitivity * quantity(0, c.u, c.degrees_of_freedom) for c in budget.components)


def compare_budgets() -> None:
    print("Budget of one test load, 8 components, with degrees of freedom and expanded uncertainty")
    budget = error_of_indication(SCALE, LOAD).budget

    def by_us() -> float:
        return Budget(budget.estimate, budget.components).expanded_u

    def by_gtc() -> float:
        result = budget_by_objects(GTC.ureal, budget)
        return float(GTC.reporting.k_factor(result.df, 95.45) * result.u)

    def by_uncertainties() -> float:  # it knows no degrees of freedom: u alone
        return float(budget_by_objects(lambda x, u, _: uncertainties.ufloat(x, u), budget).s)

    whole_s, ours_s = shortest_s(
        lambda: error_of_indication(SCALE, LOAD).budget.expanded_u, by_us, rounds=30, repeats=100
    )
    gtc_s, uncertainties_s = shortest_s(by_gtc, by_uncertainties, rounds=30, repeats=10)
    show("combined", ours_s, gtc_s, uncertainties_s)
    show("from weights and readings", whole_s, gtc_s, uncertainties_s)


def show(what: str, ours_s: float, gtc_s: float, uncertainties_s: float) -> None:
    theirs = f"GTC {gtc_s * 1e6:8.0f} us   uncertainties {uncertainties_s * 1e6:8.0f} us"
    print(f"  {what:26}{ours_s * 1e6:8.1f} us   {theirs}   {gtc_s / ours_s:.0f} x and {uncertainties_s / ours_s:.0f} x")


if __name__ == "__main__":
    compare_monte_carlo()
    compare_lines()
    compare_many_lines()
    compare_budgets()
