r"""Unit strings of D-SI: the examples of its documentation, and what the SI Brochure does not allow.

Sources: PTB, wiki of xsd-d-si, UnitSystem.md (the base-unit expressions of its tables); SI Brochure, 9th ed. (2019).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.certificates.si_units import BARE, OF_SYMBOL, PREFIXABLE, PREFIXES, check_unit
from scalewright.errors import InputError

FACTORS = st.builds(
    lambda prefix, name, exponent: f"{prefix}\\{name}{exponent}",
    st.sampled_from(["", *(f"\\{prefix}" for prefix in sorted(PREFIXES))]),
    st.sampled_from(sorted(PREFIXABLE)),
    st.sampled_from(["", r"\tothe{-1}", r"\tothe{2}", r"\tothe{0.5}"]),
)


@pytest.mark.parametrize(
    "text",
    [
        r"\kilogram",
        r"\milli\gram",
        r"\degreecelsius",
        r"\hecto\pascal",
        r"\one",
        r"\metre\tothe{-1}\kilogram\second\tothe{-2}",  # pascal in base units, UnitSystem.md
        r"\metre\tothe{2}\kilogram\second\tothe{-3}\ampere\tothe{-1}",  # volt, the same table
        r"\kilogram\per\metre\tothe{3}",
        r"\milli\volt\per\volt",
        *OF_SYMBOL.values(),
    ],
)
def test_units_of_the_documentation_and_of_our_certificates_are_units(text: str) -> None:
    assert check_unit(text) == text


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "is not a unit"),
        ("kg", "from character 1 on"),
        ("gram", "from character 1 on"),
        (r"\Kilogram", "from character 1 on"),
        (r"\gram ", "from character 6 on"),
        (r"\gramme", "not a unit or prefix"),
        (r"\milli", "is not a unit"),
        (r"\milli\kilogram", "takes no prefix"),  # note a of the table; SI Brochure, chapter 3
        (r"\kilo\one", "takes no prefix"),  # note b
        (r"\one\tothe{2}", "takes an exponent"),  # note b
        (r"\milli\milli\gram", "takes no prefix"),  # SI Brochure, chapter 3: no compound prefixes
        (r"\kilo\hour", "takes no prefix"),  # SI Brochure, chapter 4
        (r"\per\second", "is not a unit"),
        (r"\metre\per\second\per\second", "one \\\\per at most"),
        (r"\metre\tothe", "an exponent is written"),
        (r"\metre{2}", "an exponent is written"),
        (r"\tothe{2}", "follows no unit"),
        (r"\metre\tothe{2}\tothe{2}", "follows no unit"),
        (r"\metre\tothe{}", "from character 13 on"),
    ],
)
def test_what_is_no_unit_is_refused_with_the_reason(text: str, problem: str) -> None:
    with pytest.raises(InputError, match=problem):
        check_unit(text)


@given(st.lists(FACTORS, min_size=1, max_size=4).map("".join))
def test_every_product_of_factors_is_a_unit_and_none_once_a_backslash_is_lost(text: str) -> None:
    assert check_unit(text) == text
    with pytest.raises(InputError):
        check_unit(text[1:])


@given(st.text(max_size=30))
def test_any_other_text_is_refused_by_our_own_error(text: str) -> None:
    if "\\" not in text:
        with pytest.raises(InputError):
            check_unit(text)


def test_no_name_is_both_with_and_without_a_prefix() -> None:
    assert not PREFIXABLE & BARE
    assert not (PREFIXABLE | BARE) & PREFIXES
