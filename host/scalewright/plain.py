"""Values as JSON can hold them, and back again: what the journal keeps of plans, answers, results and register items.

Decimals and fractions are exact text, bytes hexadecimal, dates ISO 8601; a dataclass is an object of its fields, with
its name under "is".
"""

from collections.abc import Callable
from dataclasses import MISSING, fields, is_dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import cache
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from scalewright.errors import RecordError

_TEXTS: dict[Any, Callable[[str], Any]] = {
    Decimal: Decimal,
    Fraction: Fraction,
    bytes: bytes.fromhex,
    date: date.fromisoformat,
}
"""How a value that is kept as text is read."""


def plain(value: object) -> Any:
    """Return a value as what JSON can hold."""
    if is_dataclass(value) and not isinstance(value, type):
        named = {field.name: plain(getattr(value, field.name)) for field in fields(value)}
        return {"is": type(value).__name__, **named}
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, bytes):
        return value.hex()
    return str(value) if isinstance(value, Decimal | Fraction | date) else value


def revive(data: Any, kind: Any, where: str = "value") -> Any:
    """Return the value of type `kind` that `plain` made `data` of.

    kind: a dataclass, a union, tuple[...], dict[str, ...] or one of the types above. A missing field takes its
    default; an unknown one is an error, for it would be lost. Raises RecordError, saying where and what was expected.
    """
    if is_dataclass(kind):
        return _object(data, kind, where)
    origin, arguments = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return _one_of(data, arguments, where)
    if origin is tuple:
        return _tuple(data, arguments, where)
    if origin is dict:
        items = _of_type(data, dict, where).items()
        return {key: revive(item, arguments[1], f"{where}.{key}") for key, item in items}
    if kind in _TEXTS:
        return _text(data, kind, where)
    return data if kind in (Any, object) else _of_type(data, kind, where)


def _object(data: Any, kind: Any, where: str) -> Any:
    given = dict(_of_type(data, dict, where))
    if given.pop("is", kind.__name__) != kind.__name__:
        raise RecordError(f"{where}: {data['is']} found, expected {kind.__name__}")
    types, values = _types(kind), {}
    for field in fields(kind):
        if field.name in given:
            values[field.name] = revive(given.pop(field.name), types[field.name], f"{where}.{field.name}")
        elif field.default is MISSING and field.default_factory is MISSING:
            raise RecordError(f"{where}.{field.name} is missing in {kind.__name__}")
    if given:
        raise RecordError(f"{where}: {kind.__name__} has no {', '.join(sorted(given))}", "use the newer Scalewright")
    return kind(**values)


@cache
def _types(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)


def _one_of(data: Any, kinds: tuple[Any, ...], where: str) -> Any:
    if data is None and NoneType in kinds:
        return None
    name = data.get("is") if isinstance(data, dict) else None
    classes = {kind.__name__: kind for kind in kinds if is_dataclass(kind) and isinstance(kind, type)}
    if name in classes:
        return _object(data, classes[name], where)
    others = [kind for kind in kinds if kind is not NoneType and kind not in classes.values()]
    if name is not None or not others:
        raise RecordError(f"{where}: {name or data} found, expected one of {', '.join(classes)}")
    problem = None
    for kind in others:
        try:
            return revive(data, kind, where)
        except RecordError as error:
            problem = error
    assert problem is not None
    raise problem


def _tuple(data: Any, kinds: tuple[Any, ...], where: str) -> tuple[Any, ...]:
    items = _of_type(data, list, where)
    if kinds[-1] is Ellipsis:
        kinds = (kinds[0],) * len(items)
    if len(kinds) != len(items):
        raise RecordError(f"{where}: {len(items)} values found, expected {len(kinds)}")
    return tuple(revive(item, kind, f"{where}[{n}]") for n, (item, kind) in enumerate(zip(items, kinds, strict=True)))


def _text(data: Any, kind: Any, where: str) -> Any:
    try:
        return _TEXTS[kind](_of_type(data, str, where))
    except (ValueError, InvalidOperation, ZeroDivisionError) as error:
        raise RecordError(f"{where}: {data!r} is not a {kind.__name__}") from error


def _of_type(data: Any, kind: Any, where: str) -> Any:
    is_right = isinstance(data, kind) and (kind is bool or not isinstance(data, bool))
    if kind is float and isinstance(data, int) and not isinstance(data, bool):
        return float(data)
    if not is_right:
        raise RecordError(f"{where}: {data!r} found, expected {kind.__name__}")
    return data
