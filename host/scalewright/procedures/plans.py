"""Every plan that a job can be begun with."""

from scalewright.procedures.calibration import Calibration
from scalewright.procedures.daily_check import DailyCheck

Plan = Calibration | DailyCheck
