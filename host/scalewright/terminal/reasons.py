"""Why something was not done, as a person wants to read it."""

from scalewright.errors import DeviceFault, ScalewrightError


def reason(error: ScalewrightError) -> str:
    """Return why something was not done; of what a device refuses its own words, for the code is for programs."""
    if isinstance(error, DeviceFault):
        return error.message.rpartition("; ")[2].rpartition(" (")[0]
    return str(error)
