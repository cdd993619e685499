"""What is known of a thing, as a text: names in one column, what they stand for in the other."""

from collections.abc import Iterable

from textual.content import Content

_NAME = 14


def heading(text: str) -> Content:
    """Return the name of what follows."""
    return Content.styled(text, "bold $primary")


def fact(name: str, value: object) -> Content:
    """Return one line."""
    return Content.assemble((f"{name:{_NAME}}", "$secondary"), str(value))


def stated(*facts: tuple[str, object]) -> list[Content]:
    """Return a line for each that has a value."""
    return [fact(name, value) for name, value in facts if value not in (None, "")]


def text_of(lines: Iterable[Content]) -> Content:
    """Return the lines below each other."""
    return Content("\n").join(lines)


def cut(text: str, width: int) -> str:
    """Return the text, so wide."""
    return f"{text:{width}}" if len(text) <= width else f"{text[: width - 1]}…"
