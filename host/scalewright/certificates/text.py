"""Text from people as every form of a certificate can carry it: one line, nothing invisible that acts.

What XML 1.0 has no characters for (section 2.2), control characters, and the characters that turn the order of reading
round (Unicode Standard Annex 9, explicit embeddings, overrides and isolates), with which digits can be made to read as
others, become U+FFFD. Line breaks and tabs become blanks.
"""

import re
from dataclasses import fields, is_dataclass, replace
from typing import TypeVar, cast

Value = TypeVar("Value")
_BREAKS = re.compile("[ \t\n\r\x0b\x0c\x1c-\x1f\x85\u2028\u2029]+")
_FORBIDDEN = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff\u202a-\u202e\u2066-\u2069\ufffe\uffff]")


def clean(text: str) -> str:
    """Return the text without what must not reach a certificate."""
    return _FORBIDDEN.sub("\N{REPLACEMENT CHARACTER}", _BREAKS.sub(" ", text).strip(" "))


def cleaned(value: Value) -> Value:
    """Return facts with every text in them cleaned, however deep."""
    if isinstance(value, str):
        return cast(Value, clean(value))
    if isinstance(value, tuple):
        return cast(Value, tuple(cleaned(item) for item in value))
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{field.name: cleaned(getattr(value, field.name)) for field in fields(value)})
    return value
