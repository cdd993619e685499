"""Every plan that a job can be begun with."""

from scalewright.procedures.calibration import Calibration

Plan = Calibration
