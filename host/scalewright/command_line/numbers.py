"""Numbers as options give them."""

from decimal import Decimal, InvalidOperation

from scalewright.errors import InputError

_SIZE = 15  # a number other than 0 lies between 10**-15 and 10**15


def number(text: str, option: str, low: Decimal | int | None = None, high: Decimal | int | None = None) -> Decimal:
    """Return the number, every digit of it. Raises InputError naming the option, unless it is from low to high."""
    try:
        value = Decimal(text)
    except InvalidOperation:
        value = Decimal("NaN")
    sane = value.is_finite() and (not value or -_SIZE <= value.adjusted() < _SIZE)
    if not sane or (low is not None and value < low) or (high is not None and value > high):
        bounds = " and ".join(f"{word} {end}" for word, end in (("from", low), ("up to", high)) if end is not None)
        raise InputError(f"{option} {text[:40]!a}; expected a number {bounds}".rstrip())
    return value
