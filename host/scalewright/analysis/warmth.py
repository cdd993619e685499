"""What a device's compensation does at each reading of a recording, from the temperatures that it showed."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from shared_calc.chain_state import HELD, MOVED_SPAN, MOVED_ZERO, UNLOADED, new_state
from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.measuring_chain import feel
from shared_calc.temperature import PARTS_OF_A_DEGREE, Compensation

_LOST = -(1 << 15)  # stands for a temperature that is not known; below any that a sensor shows


class Felt(NamedTuple):
    """The fields of the chain's state that temperature sets, for each reading; of no length where it sets none."""

    zero: npt.NDArray[np.int32]
    span: npt.NDArray[np.int32]
    held: npt.NDArray[np.int32]


class Warmth:
    """The compensation of one coefficient record, from its start on."""

    def __init__(self, record: CoefficientRecord) -> None:
        # A copy: a compensation remembers the last temperature, and this device has known none yet.
        self._compensation = Compensation(*record.compensation.fields) if record.compensation else None
        self._state: list[int] = new_state()
        feel(self._state, self._compensation, None)

    @property
    def unloaded(self) -> int:
        """Counts of the empty scale at the reference temperature."""
        return self._state[UNLOADED]

    def feel(self, temperature_c: npt.ArrayLike | None, number: int) -> Felt:
        """Return what the next readings feel; nan, or None for all of them: no temperature was known."""
        if self._compensation is None:
            return Felt(*(np.empty(0, np.int32) for _ in range(3)))
        temperatures = np.full(number, np.nan) if temperature_c is None else np.asarray(temperature_c)
        rounded = np.round(temperatures * PARTS_OF_A_DEGREE)
        sixteenths = np.where(np.isnan(temperatures), _LOST, rounded).astype(np.int32)
        starts = np.flatnonzero(np.diff(sixteenths, prepend=_LOST - 1))
        fields = np.array([self._at(int(sixteenths[start])) for start in starts], np.int32).reshape(-1, 3)
        lengths = np.diff(np.append(starts, number))
        return Felt(*(np.repeat(column, lengths) for column in fields.T))

    def _at(self, sixteenths: int) -> tuple[int, int, int]:
        feel(self._state, self._compensation, None if sixteenths == _LOST else sixteenths)
        return self._state[MOVED_ZERO], self._state[MOVED_SPAN], self._state[HELD]
