"""From fractions of a division to whole divisions, and to the decimal text that is shown."""

FURTHEST = 0x3FFFFFFF  # from 0 that a small integer of a 32-bit MicroPython lies; written so that it is one itself


def difference(a, b):
    """Return a - b, held within -FURTHEST .. FURTHEST, as a and b are."""
    if b > 0:
        return a - b if a > b - FURTHEST else -FURTHEST
    return a - b if a < b + FURTHEST else FURTHEST


def round_to_division(fine, binary_exponent):
    """Return `fine`, in units of d / 2**binary_exponent, as whole divisions; halves go up. binary_exponent > 0."""
    return (fine >> binary_exponent - 1) + 1 >> 1  # adding the half first could leave the small integers


def format_divisions(divisions, mantissa, power_of_ten):
    """Return divisions * mantissa * 10**power_of_ten as decimal text with as many places as the division has."""
    value = divisions * mantissa
    if power_of_ten >= 0:
        return str(value * 10 ** power_of_ten)
    unit = 10 ** -power_of_ten
    whole, part = divmod(abs(value), unit)
    return "%s%d.%s" % ("-" if value < 0 else "", whole, str(unit + part)[1:])
