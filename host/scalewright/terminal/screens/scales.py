"""Scales: which ones are looked after here, what each is, how it was last seen, and when it is due."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Static

from scalewright.equipment import DeviceState, RegisteredScale
from scalewright.handbook_44 import Handbook44Class
from scalewright.link.sighting import look_at
from scalewright.register_fields import SCALE, scale_of, texts_of
from scalewright.register_files import read_scales
from scalewright.terminal.due_words import due_lines, due_table, due_words
from scalewright.terminal.facts import cut, heading, stated, text_of
from scalewright.terminal.open_records import are_there
from scalewright.terminal.register_forms import Entering, cells_for, values_of
from scalewright.terminal.screens.form import Cell
from scalewright.terminal.screens.listing import Line, ListScreen
from scalewright.terminal.screens.text import TextScreen
from scalewright.tolerances import AccuracyClass

if TYPE_CHECKING:
    from scalewright.due_list import Due
    from scalewright.records.journal import Journal
    from scalewright.records.registers import Registered

    Known = tuple[list[Registered[RegisteredScale]], DeviceState | None, Due | None]


class ScalesScreen(ListScreen):
    """The register of scales."""

    NAME = "scales"
    HELP = """
The scales that are looked after here. Beside each stands until when its calibration is relied on; D lists what is due
of everything that is registered: scales, masses and instruments, the most urgent first.

S registers the scale that is connected, with what the device says of itself; only your initials are missing. Pressed
again later, it notes how the scale is seen then: its firmware, the coefficients it weighs with, its event counter and
its seal. Before a job begins the counter is compared: whoever adjusts a scale in between is found out.

A fills in a scale by hand, I reads a CSV file as scalewright register scale export writes it. A scale that is gone is
retired by E, in the field state; it stays in the records.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("s", "add_connected", "Connected scale"),
        Binding("a", "add", "Add"),
        Binding("e", "change", "Change"),
        Binding("i", "file", "From a file"),
        Binding("d", "due", "Due list"),
    ]
    HEADINGS = f"{'scale':14}{'Max, g':>8}{'d, g':>7}  {'class':6}{'due':19}place"
    FIRST_TIME = """
No scale is registered here yet.

Connect one and press S: the device says what it is, and you add your initials.
Press A to fill in a scale by hand, I to read a CSV file.
"""

    def read_lines(self, journal: "Journal") -> Sequence[Line]:
        """Return a line a scale."""
        from scalewright.records.registers import items

        due = self._due(journal)
        return [
            Line(key, Content.assemble(_line_of(scale), due_words(due.get(key)), cut(scale.place, 14)))
            for key, scale in items(journal, RegisteredScale).items()
        ]

    def _due(self, journal: "Journal") -> "dict[str, Due]":
        return {line.kept.key: line for line in due_lines(journal, self.bench.today()) if line.kept.kind == "scale"}

    def read_up(self, journal: "Journal", key: str) -> object:
        """Return what the register says, how the device was last seen, and when it is due."""
        from scalewright.records.registers import history, last_seen

        known = history(journal, RegisteredScale, key)
        return known, last_seen(journal, known[-1].item), self._due(journal).get(key)

    def show_found(self, found: object) -> None:
        """Show the scale as it is now."""
        self.query_one("#known", Static).update(text_of(_facts_of(*self._known)))

    @property
    def _known(self) -> "Known":
        known: Known = self.found  # type: ignore[assignment]
        return known

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What is about one scale needs one."""
        if action == "change":
            return self.found is not None
        return super().check_action(action, parameters)

    def action_add(self) -> None:
        """Ask for a new scale."""
        self._ask_for_new("A new scale", {}, None, "first registered")

    def action_add_connected(self) -> None:
        """Look at the scale on the line: register it, or note how it is now where it is registered."""
        if self.bench.live is None or not self.bench.is_live:
            self.say("Not done: no scale is on the line. Press 1 and choose one.")
        else:
            self.then(self.bench.live.between(look_at), self._take)

    def _take(self, state: DeviceState) -> None:
        if are_there(self.bench.records):
            self.read(lambda journal: _registered(journal, state), lambda scale: self._ask_about(state, scale), "take")
        else:
            self._ask_about(state, None)

    def _ask_about(self, state: DeviceState, scale: RegisteredScale | None) -> None:
        if scale is None:
            self._ask_for_new("The connected scale", _texts_of_device(state), state, "connected for the first time")
            return

        async def keep(typed: Mapping[str, str]) -> str:
            seen = [scale_of({"seen": state}, scale)]
            return await self.keep(Entering.typed(typed, lambda: seen, is_new=False))

        cells = cells_for((), {}, by=self.bench.by, why="seen at the bench")
        self.fill_in(f"{scale.key} is registered. Note how it is now: event {state.events}", cells, keep)

    def _ask_for_new(self, title: str, texts: Mapping[str, str], seen: DeviceState | None, why: str) -> None:
        async def keep(typed: Mapping[str, str]) -> str:
            def make() -> Sequence[RegisteredScale]:
                return [scale_of({**values_of(SCALE, typed), "seen": seen})]

            return await self.keep(Entering.typed(typed, make, is_new=True))

        fields = [field for field in SCALE if field.name not in ("tolerance", "handbook_44_class", "state")]
        self.fill_in(title, cells_for(fields, texts, by=self.bench.by, why=why), keep, "by" if texts else "key")

    def action_change(self) -> None:
        """Ask what is to change about the scale."""
        before = self._known[0][-1].item
        texts = texts_of(before)
        fields = SCALE[1:]

        async def keep(typed: Mapping[str, str]) -> str:
            def make() -> Sequence[RegisteredScale]:
                return [scale_of(values_of(fields, typed, texts), before)]

            return await self.keep(Entering.typed(typed, make, is_new=False))

        self.fill_in(f"Change {before.key}", cells_for(fields, texts, by=self.bench.by), keep)

    def action_file(self) -> None:
        """Ask for a file."""

        async def keep(typed: Mapping[str, str]) -> str:
            return await self.keep(Entering.typed(typed, lambda: read_scales(typed["file"]), is_new=None))

        file = Cell("file", "CSV file", "", "as scalewright register scale export writes it")
        self.fill_in("Scales from a file", [file, *cells_for((), {}, by=self.bench.by)], keep)

    def action_due(self) -> None:
        """Show what is due, of everything."""
        today = self.bench.today()

        def show(lines: "list[Due]") -> None:
            self.app.push_screen(TextScreen("What is due", due_table(lines, today)))

        self.read(lambda journal: due_lines(journal, today), show)


def _registered(journal: "Journal", state: DeviceState) -> RegisteredScale | None:
    """Return the scale of the register that this device is."""
    from scalewright.records.registers import items

    for scale in items(journal, RegisteredScale, retired=True).values():
        if (scale.model, scale.serial_number) == (state.model, state.serial_number):
            return scale
    return None


def _texts_of_device(state: DeviceState) -> dict[str, str]:
    amounts = {"max_g": state.max_g, "d_g": state.d_g}
    known = {name: f"{value:f}" for name, value in amounts.items() if value is not None}
    key = "".join(sign if sign.isalnum() or sign in "._-" else "-" for sign in state.serial_number)
    return {
        "key": key, "model": state.model, "serial_number": state.serial_number, "accuracy_class": "III", **known,
    }  # fmt: skip


def class_of(scale: RegisteredScale) -> str:
    """Return what the errors of a scale are held against, in a word."""
    if isinstance(scale.limits, AccuracyClass):
        return scale.limits.name
    return f"H44 {scale.limits.name}" if isinstance(scale.limits, Handbook44Class) else "own"


def _line_of(scale: RegisteredScale) -> str:
    return f"{cut(scale.key, 13)} {scale.max_g:>8f}{scale.d_g:>7f}  {cut(class_of(scale), 5)} "


def _facts_of(
    known: "list[Registered[RegisteredScale]]", seen: DeviceState | None, due: "Due | None"
) -> list[Content]:
    scale = known[-1].item
    plate = f"Max {scale.max_g:f} g   Min {scale.min_g:f} g   d = {scale.d_g:f} g   e = {scale.e_g:f} g"
    interval = scale.interval_months and f"{scale.interval_months} months"
    return [
        heading(scale.key),
        Content(plate),
        *stated(
            ("model", scale.model), ("serial number", scale.serial_number), ("maker", scale.maker),
            ("limits", scale.limits.source), ("pan", f"{scale.pan}, {scale.supports} supports"),
            ("place", scale.place), ("interval", interval), ("state", scale.state),
        ),
        *_due_facts(due),
        Content(""),
        heading("as last seen"),
        *(_seen_facts(seen) if seen else [Content("never: connect it and press S")]),
        Content(""),
        heading("entries"),
        *(Content(f"{each.at[:10]}  {each.by:4}  {each.why}") for each in known[::-1]),
    ]  # fmt: skip


def _due_facts(due: "Due | None") -> list[Content]:
    if due is None:
        return []
    kept = due.kept
    words = due_words(due).plain.strip()
    return stated(("calibrated", kept.calibrated), ("due", f"{kept.due or ''} {words}".strip()), ("", kept.why))


def _seen_facts(seen: DeviceState) -> list[Content]:
    seal = {True: "on", False: "open", None: "not asked"}[seen.sealed]
    return stated(
        ("on", seen.at[:16].replace("T", " ")), ("firmware", seen.firmware), ("coefficients", seen.coefficients),
        ("event counter", seen.events), ("seal", seal),
    )  # fmt: skip
