"""One reading as the link carries it: number, device time, raw counts, indication, temperature, flags.

A fault is a flag, never a mass: a reading with a fault has no indication. The others are status: MOVING says that the
indication may still change, AT_ZERO and NET what OIML R 76-1:2006 wants shown (4.5.5 and 4.6.5, from memory).
"""

NO_DATA = 1  # the ADC gave no conversion in time
SATURATED = 2  # the ADC is at an end of its range
UNCALIBRATED = 4  # no coefficients, or damaged ones
OVER_RANGE = 8  # above Max + 9 d (OIML R 76-1:2006, 4.2.3), or above what the curve covers
UNDER_RANGE = 16  # below what the curve covers
BAD_FRAME = 32  # the ADC's timing limits were broken while it was read
MOVING = 64  # the load is not at rest
AT_ZERO = 128  # at rest, and within a quarter of a division of zero, before tare
NET = 256  # a tare is taken off the indication
REJECTED = 512  # the scale failed its verification and has passed none since
COMPENSATION_HELD = 1024  # no temperature, or one that its compensation is not for: the last or nearest serves

FLAG_NAMES = (
    "NO_DATA", "SATURATED", "UNCALIBRATED", "OVER_RANGE", "UNDER_RANGE", "BAD_FRAME",
    "MOVING", "AT_ZERO", "NET", "REJECTED", "COMPENSATION_HELD",
)
FAULTS_OF_A_COUNT = NO_DATA | SATURATED | BAD_FRAME  # there is no count that could be used
FAULTS = FAULTS_OF_A_COUNT | UNCALIBRATED | OVER_RANGE | UNDER_RANGE


class ReadingError(Exception):
    """The text is not a reading."""


def format_flags(flags):
    """Return the names of the flags that are set, joined by '|'; "OK" where none is."""
    return "|".join([FLAG_NAMES[k] for k in range(len(FLAG_NAMES)) if flags >> k & 1]) or "OK"


def parse_flags(text):
    """Return the flags named in `text`. Raises ReadingError on a name that is none of them."""
    flags = 0
    if text != "OK":
        for name in text.split("|"):
            if name not in FLAG_NAMES:
                raise ReadingError("flag %s is not known" % name)
            flags |= 1 << FLAG_NAMES.index(name)
    return flags


def format_reading(number, time_ms, counts, indication_g, temperature_c, flags):
    """Return the reading as one comma-separated line. Numbers that do not exist are empty.

    counts: int or None; indication_g and temperature_c: decimal text, or "" where there is none.
    """
    return "%d,%d,%s,%s,%s,%s" % (
        number,
        time_ms,
        "" if counts is None else counts,
        indication_g,
        temperature_c,
        format_flags(flags),
    )


def parse_reading(text):
    """Return (number, time_ms, counts or None, indication_g text, temperature_c text, flags). Raises ReadingError."""
    fields = text.split(",")
    if len(fields) != 6:
        raise ReadingError("a reading has 6 fields, got %d" % len(fields))
    number, time_ms, counts, indication_g, temperature_c, flags = fields
    try:
        counts = int(counts) if counts else None
        return int(number), int(time_ms), counts, indication_g, temperature_c, parse_flags(flags)
    except ValueError:
        raise ReadingError("number, time and counts of a reading must be whole numbers")
