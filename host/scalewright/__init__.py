"""Calibrate, test and keep strain-gauge scales; the arithmetic they share with their device is in `shared_calc`."""

__version__ = "0.1.0"
