"""Numbers that describe a part of the virtual world: each has its default in the class of the part."""

_LARGEST = 1e15


def set_parameters(part, parameters):
    """Give `part` these (name: value). Raises ValueError, changing nothing, where one is not in its class or cannot be.

    part.KIND says in words what it is.
    """
    for name in parameters:
        value = parameters[name]
        default = getattr(type(part), name, None)
        if isinstance(default, float) and isinstance(value, (int, float)):
            _check(part.KIND, name, value)
        elif not isinstance(default, tuple) or not isinstance(value, tuple):
            raise ValueError("%s has no parameter %s=%s" % (part.KIND, name, value))
    for name in parameters:
        setattr(part, name, parameters[name])


def _check(kind, name, value):
    if name.endswith("_s") or name.startswith("capacity"):  # something is divided by it
        is_possible, expected = 0 < value <= _LARGEST, "more than 0"
    else:
        is_possible, expected = -_LARGEST <= value <= _LARGEST, "a number"
    if not is_possible:
        raise ValueError("%s with %s=%s: expected %s" % (kind, name, value, expected))
