"""Forms for the registers: their cells from the fields there are, and what was typed as values of those fields."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from scalewright.errors import InputError
from scalewright.register_fields import Field, Values, read_fields
from scalewright.terminal.screens.form import Cell

if TYPE_CHECKING:
    from scalewright.equipment import Instrument, MassSet, RegisteredScale
    from scalewright.records.journal import Journal

    Item = MassSet | RegisteredScale | Instrument

_BY, _WHY = "by", "why"


def cells_for(fields: Sequence[Field], values: Mapping[str, str], *, by: str, why: str = "") -> list[Cell]:
    """Return a cell a field, filled in as far as known, and who keeps it and why."""
    cells = [Cell(field.name, _words(field), values.get(field.name, ""), field.help) for field in fields]
    return [*cells, Cell(_BY, "by", by, "your initials"), Cell(_WHY, "why", why, "why, in a line")]


def _words(field: Field) -> str:
    name = field.name
    if name.endswith("_g"):
        letter = name.removesuffix("_g")
        return {"max": "Max, g", "min": "Min, g"}.get(letter, f"{letter.replace('_', ' ')}, g")
    return name.replace("_kg_m3", ", kg/m3").replace("_", " ")


def values_of(fields: Sequence[Field], typed: Mapping[str, str], before: Mapping[str, str] | None = None) -> Values:
    """Return the values that were typed: of a thing there was before, those that differ. Raises InputError."""
    texts = {
        field.name: typed[field.name]
        for field in fields
        if field.name in typed and (before is None or typed[field.name] != before.get(field.name, ""))
    }

    def problem(field: Field, message: str) -> InputError:
        return InputError(f"{_words(field)}: {message}")

    return read_fields(fields, texts, problem)


@dataclass(frozen=True)
class Entering:
    """Things to be put into the register; those with a key that is there already take the place of what it held."""

    items: "Sequence[Item]"
    by: str
    why: str
    is_new: bool | None = None
    """True: no key may be there yet; False: each must; None: as it comes"""

    @classmethod
    def typed(
        cls, typed: Mapping[str, str], make: "Callable[[], Sequence[Item]]", *, is_new: bool | None
    ) -> "Entering":
        """Make it of a form, who keeps it and why first. Raises InputError."""
        from scalewright.equipment import initials, line_of_text

        by, why = initials(typed[_BY]), line_of_text(typed[_WHY], _WHY)
        return cls(make(), by, why, is_new)

    def __call__(self, journal: "Journal") -> str:
        """Keep them, and say so. Runs in a thread. Raises InputError, RecordError."""
        from scalewright.records.registers import add, change, history

        items: Any = self.items
        known = [item for item in items if self.is_new is None and history(journal, type(item), item.key)]
        new = [item for item in items if item not in known]
        for keep, these in ((change, known), (change if self.is_new is False else add, new)):
            if these:
                keep(journal, these, self.by, self.why)
        return f"{', '.join(item.key for item in items)}: kept, by {self.by}."
