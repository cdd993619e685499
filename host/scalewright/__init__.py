"""Calibrate, test and keep strain-gauge scales; the arithmetic they share with their device is in `shared_calc`.

The names below are the documented surface; README.md beside this file shows them at work. Each is imported when it is
first used, so `import scalewright` is as quick as an empty file.
"""

from typing import Any

__version__ = "0.1.0"

# name -> the module it lives in
SURFACE = {
    "AccuracyClass": "tolerances",
    "Interval": "analysis.decision",
    "Journal": "records.journal",
    "Observation": "quantities",
    "Scale": "link.scale",
    "ScalewrightError": "errors",
    "adaptive_monte_carlo": "analysis.monte_carlo",
    "calibration_function": "analysis.calibration_function",
    "choose_degree": "analysis.model_choice",
    "compensation_for": "analysis.temperature",
    "decide": "analysis.decision",
    "error_of_indication": "analysis.error_of_indication",
    "errors_in_both": "analysis.errors_in_both",
    "fit_drift": "analysis.drift",
    "fit_observations": "analysis.polynomial",
    "fit_polynomial": "analysis.polynomial",
    "propagate": "analysis.propagation",
    "read_observations": "recordings",
    "read_soak": "analysis.soak_file",
    "read_type_curve": "analysis.type_curve",
    "replay": "analysis.replay",
    "write_observations": "recordings",
}

__all__ = ["SURFACE", "__version__", *SURFACE]


def __getattr__(name: str) -> Any:
    if name not in SURFACE:
        raise AttributeError(f"module 'scalewright' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f"scalewright.{SURFACE[name]}"), name)


def __dir__() -> list[str]:
    return sorted(__all__)
