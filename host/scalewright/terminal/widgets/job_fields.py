"""The fields of a form that say what a job is done with, and by whom."""

from collections.abc import Collection

from textual.app import ComposeResult
from textual.containers import Grid
from textual.widgets import Input, Select, Static

from scalewright.equipment import initials
from scalewright.terminal.chosen import Chosen, Registers

ANY_MASSES, NO_SCALE = "any known masses", "none"


class JobFields(Grid):
    """Mass set, registered scale, initials; each may be left as it is."""

    def __init__(self) -> None:
        super().__init__(classes="form")
        self._registers = Registers()
        self._serial_number = ""

    def compose(self) -> ComposeResult:
        """Without registers there is but the first choice."""
        yield Static("Mass set")
        yield Select(_choices(ANY_MASSES), value="", allow_blank=False, id="masses", compact=True)
        yield Static("Registered scale")
        yield Select(_choices(NO_SCALE), value="", allow_blank=False, id="scale", compact=True)
        yield Static("Your initials")
        yield Input(id="by", compact=True)

    def offer(self, registers: Registers, serial_number: str, by: str) -> None:
        """Offer what is registered, the scale on the line, and who worked last; what was filled in before stays."""
        is_another = serial_number != self._serial_number
        self._registers, self._serial_number = registers, serial_number
        there = registers.scale_with(serial_number)
        self._fill("#masses", ANY_MASSES, registers.masses)
        self._fill("#scale", NO_SCALE, registers.scales, there if is_another else None)
        typed = self.query_one("#by", Input)
        typed.value = typed.value or by

    def _fill(self, name: str, first: str, keys: Collection[str], chosen: str | None = None) -> None:
        select = self._select(name)
        wanted = str(select.value) if chosen is None else chosen
        select.set_options(_choices(first, keys))
        select.value = wanted if wanted in keys else ""

    def chosen(self) -> Chosen:
        """Return what is filled in. Raises InputError for initials that are none."""
        by = self.query_one("#by", Input).value.strip()
        return Chosen(
            self._registers.scales.get(str(self._select("#scale").value)),
            self._registers.masses.get(str(self._select("#masses").value)),
            initials(by) if by else "",
        )

    def _select(self, name: str) -> Select[str]:
        select: Select[str] = self.query_one(name, Select)
        return select


def _choices(first: str, keys: Collection[str] = ()) -> list[tuple[str, str]]:
    return [(first, ""), *((key, key) for key in keys)]
