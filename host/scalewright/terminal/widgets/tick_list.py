"""Things to tick, each with a sign that says whether it is ticked."""

from collections.abc import Collection, Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import OptionList
from textual.widgets.option_list import Option


class TickList(OptionList):
    """Space or Enter ticks the line that is highlighted."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("space,enter", "select", "Tick", key_display="Space")]

    def __init__(self, names: Sequence[str], ticked: Collection[str], *, id: str | None = None) -> None:
        super().__init__(
            *(Option(_line(name, name in ticked), id=name) for name in names), id=id, compact=True, markup=False
        )
        self._names = names
        self._ticked = set(ticked)

    @property
    def ticked(self) -> tuple[str, ...]:
        """Return what is ticked, in the order of the list."""
        return tuple(name for name in self._names if name in self._ticked)

    def tick(self, names: Collection[str]) -> None:
        """Tick these and no others."""
        self._ticked = set(names)
        for name in self._names:
            self.replace_option_prompt(name, _line(name, name in self._ticked))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Tick it, or take the tick off."""
        event.stop()
        assert event.option.id is not None
        self.tick(self._ticked ^ {event.option.id})


def _line(name: str, is_ticked: bool) -> str:
    return f"[{'x' if is_ticked else ' '}] {name}"
