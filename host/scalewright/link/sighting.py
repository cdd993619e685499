"""A device as it is now, for the registers and their guards."""

from datetime import UTC, datetime
from decimal import Decimal

from scalewright.equipment import DeviceState
from scalewright.errors import DeviceFault
from scalewright.link.scale import Scale
from scalewright.link.seal import SealState
from shared_calc.coefficient_record import CoefficientError, CoefficientRecord, decode


def look_at(scale: Scale) -> DeviceState:
    """Return what the device says of itself now, Max and d where it has coefficients. Raises LinkError."""
    identity, sealed, record = scale.identify(), SealState.read(scale).sealed, _record(scale)
    at = f"{datetime.now(UTC).replace(tzinfo=None).isoformat(timespec='microseconds')}Z"
    if record is None:
        return DeviceState.of(identity, at, sealed=sealed)
    d_g = Decimal(record.mantissa).scaleb(record.power_of_ten)
    return DeviceState.of(identity, at, sealed=sealed, max_g=record.max_divisions * d_g, d_g=d_g)


def _record(scale: Scale) -> CoefficientRecord | None:
    try:
        record: CoefficientRecord = decode(scale.read_coefficients())
    except (DeviceFault, CoefficientError):
        return None
    return record
