"""What was made plain for the journal comes back as it was."""

import json
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.errors import RecordError
from scalewright.plain import plain, revive


@dataclass(frozen=True)
class Weight:
    mass_g: Decimal
    due: date | None = None


@dataclass(frozen=True)
class Coin:
    name: str
    share: Fraction = Fraction(1, 3)


@dataclass(frozen=True)
class Box:
    content: tuple[Weight | Coin, ...]
    label: bytes = b""
    size: tuple[int, float] = (1, 2.0)
    limits: dict[str, Decimal] | None = None
    is_open: bool = False


finite = st.decimals(allow_nan=False, allow_infinity=False)
weights = st.builds(Weight, finite, st.none() | st.dates())
coins = st.builds(Coin, st.text(), st.fractions())
boxes = st.builds(
    Box,
    st.lists(weights | coins).map(tuple),
    st.binary(),
    st.tuples(st.integers(), st.floats(allow_nan=False, allow_infinity=False)),
    st.none() | st.dictionaries(st.text(), finite),
    st.booleans(),
)


@given(boxes)
def test_every_value_comes_back_as_it_was(box: Box) -> None:
    revived = revive(json.loads(json.dumps(plain(box))), Box)
    assert revived == box
    assert str(revived) == str(box)  # 1.0 and 1.00 are equal and differ


def test_a_field_that_is_missing_takes_its_default() -> None:
    assert revive({"is": "Coin", "name": "penny"}, Coin) == Coin("penny")


@pytest.mark.parametrize(
    ("data", "kind", "complaint"),
    [
        ({"is": "Coin"}, Coin, r"value\.name is missing in Coin"),
        ({"is": "Weight", "mass_g": "1"}, Coin, "value: Weight found, expected Coin"),
        ({"is": "Coin", "name": "penny", "year": 1900}, Coin, "value: Coin has no year"),
        ({"is": "Weight", "mass_g": "heavy"}, Weight, r"value\.mass_g: 'heavy' is not a Decimal"),
        ({"is": "Weight", "mass_g": 1}, Weight, r"value\.mass_g: 1 found, expected str"),
        ({"is": "Box", "content": [{"is": "Pebble"}]}, Box, r"\[0\]: Pebble found, expected one of Weight, Coin"),
        ({"is": "Box", "content": [], "size": [1]}, Box, r"value\.size: 1 values found, expected 2"),
        ({"is": "Box", "content": [], "size": [True, 1]}, Box, r"value\.size\[0\]: True found, expected int"),
        ("1/0", Fraction, "'1/0' is not a Fraction"),
    ],
)
def test_what_does_not_fit_is_named(data: Any, kind: Any, complaint: str) -> None:
    with pytest.raises(RecordError, match=complaint):
        revive(data, kind)
