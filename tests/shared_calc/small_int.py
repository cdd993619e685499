"""An int that refuses to leave the small integers of a 32-bit MicroPython, where nothing is allocated."""

import operator

SMALLEST, LARGEST = -(1 << 30), (1 << 30) - 1


class SmallInt(int):
    """Every result of its arithmetic is checked, and is a SmallInt again."""

    def __new__(cls, value: int) -> "SmallInt":
        assert SMALLEST <= value <= LARGEST, f"{value} is no small integer"
        return super().__new__(cls, value)


def _checked(operation):
    return lambda *operands: SmallInt(operation(*map(int, operands)))


for _name in ("add", "sub", "mul", "floordiv", "and_", "lshift", "rshift"):
    _operation = getattr(operator, _name)
    _plain = _name.rstrip("_")
    setattr(SmallInt, f"__{_plain}__", _checked(_operation))
    setattr(SmallInt, f"__r{_plain}__", _checked(lambda b, a, operation=_operation: operation(a, b)))

for _name in ("neg", "abs"):
    setattr(SmallInt, f"__{_name}__", _checked(getattr(operator, _name)))
