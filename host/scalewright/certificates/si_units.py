r"""Unit strings of the Digital System of Units (D-SI), which the schema of the certificate lets pass whatever they are.

A unit is a product of factors, each a prefix (or none), a name and an exponent (or none): \milli\gram,
\metre\second\tothe{-2}; one \per divides all before it by all after it. Names and prefixes are those of the SI
Brochure, 9th edition, tables 2, 4, 7 and 8, spelt as in D-SI, version 2 (PTB, wiki of xsd-d-si, UnitSystem.md). The
kilogram takes no prefix, the unit one neither prefix nor exponent (notes a and b there); that the units of time and
angle take none either is the brochure's rule (chapter 4).
"""

import re

from scalewright.errors import InputError

PREFIXES = {
    "deca", "hecto", "kilo", "mega", "giga", "tera", "peta", "exa", "zetta", "yotta", "deci", "centi", "milli",
    "micro", "nano", "pico", "femto", "atto", "zepto", "yocto",
}
PREFIXABLE = {
    "metre", "gram", "second", "ampere", "kelvin", "mole", "candela", "radian", "steradian", "hertz", "newton",
    "pascal", "joule", "watt", "coulomb", "volt", "farad", "ohm", "siemens", "weber", "tesla", "henry",
    "degreecelsius", "lumen", "lux", "becquerel", "gray", "sievert", "katal", "litre", "tonne", "electronvolt",
    "dalton", "bel", "neper",
}
BARE = {
    "kilogram", "one", "minute", "hour", "day", "degree", "arcminute", "arcsecond", "hectare", "astronomicalunit",
    "decibel",
}
"""names that take no prefix"""
OF_SYMBOL = {
    "kg": r"\kilogram",
    "g": r"\gram",
    "mg": r"\milli\gram",
    "°C": r"\degreecelsius",
    "hPa": r"\hecto\pascal",
    "s": r"\second",
    "kg/m³": r"\kilogram\metre\tothe{-3}",
    "1": r"\one",
}
"""the unit string of each symbol that a certificate prints; relative humidity goes as a fraction of one"""
_TOKEN = re.compile(r"\\([a-z]+)(\{-?[0-9]+(?:\.[0-9]+)?\})?")


def check_unit(text: str) -> str:
    """Return the unit string. Raises InputError that says where it is no D-SI unit."""
    tokens = _tokens(text)
    names = [name for name, _ in tokens]
    if not tokens or names[-1] in PREFIXES or names.count("per") > 1 or "per" in (names[0], names[-1]):
        raise InputError(f"{text!r} is not a unit; expected [prefix] name [exponent] ..., with one \\per at most")
    for (name, exponent), (before, _) in zip(tokens, [("", None), *tokens[:-1]], strict=True):
        problem = _problem(name, exponent, before)
        if problem:
            raise InputError(f"unit {text!r}: {problem}")
    return text


def _tokens(text: str) -> list[tuple[str, str | None]]:
    tokens, place = [], 0
    while place < len(text):
        match = _TOKEN.match(text, place)
        if not match:
            raise InputError(f"{text!r} is not a unit from character {place + 1} on; expected a backslash and a name")
        tokens.append((match[1], match[2]))
        place = match.end()
    return tokens


def _problem(name: str, exponent: str | None, before: str) -> str:
    """Say what is wrong with one token after another; empty where nothing is."""
    if (name == "tothe") != (exponent is not None):
        return r"an exponent is written \tothe{n}"
    if name == "tothe":
        is_after_unit = before in PREFIXABLE or before in BARE - {"one"}
        return "" if is_after_unit else r"\tothe follows no unit that takes an exponent"
    if before in PREFIXES and name not in PREFIXABLE:
        return f"\\{name} takes no prefix"
    return "" if name in PREFIXES | PREFIXABLE | BARE | {"per"} else f"\\{name} is not a unit or prefix"
