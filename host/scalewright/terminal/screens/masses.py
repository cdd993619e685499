"""Masses: the sets of reference masses, what each piece is worth, and for how long that holds."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Static

from scalewright.equipment import MassSet, Piece
from scalewright.errors import InputError
from scalewright.register_fields import MASS_SET, PIECE, mass_set_of, piece_of, texts_of
from scalewright.register_files import read_mass_set
from scalewright.terminal.due_words import due_lines, due_words
from scalewright.terminal.facts import cut, heading, stated, text_of
from scalewright.terminal.register_forms import Entering, cells_for, values_of
from scalewright.terminal.screens.ask import ChooseScreen
from scalewright.terminal.screens.form import Cell
from scalewright.terminal.screens.listing import Line, ListScreen
from scalewright.terminal.screens.text import TextScreen

if TYPE_CHECKING:
    from scalewright.records.journal import Journal
    from scalewright.records.registers import PieceValue, Registered

_PIECES = Cell("pieces", "pieces, g", "", "500 200 200* 100: as they are marked")
_CLASS = Cell("class", "their class", "", "of OIML R 111, such as F1, or nothing")
_NEW = "a further piece"


class MassesScreen(ListScreen):
    """The register of mass sets."""

    NAME = "masses"
    HELP = """
Everything a scale is told rests on the masses that are put on it. Here are your sets, with the certificate that says
what each piece is worth, its expanded uncertainty U, and the day until which that is relied on.

No certificate yet? Register the set with its class: a piece then counts as its nominal value, as uncertain as its
class allows. Values come in piece by piece with P, or all at once from a CSV file with I, as scalewright register
masses export writes it. A recalibration is entered over the old values; H shows all that a piece has ever had, and
whether they agree: E_n beyond 1 means that the piece has changed.

Nothing is ever deleted: what was entered stays in the records, with your initials and the reason.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "add", "Add"),
        Binding("e", "change", "Change"),
        Binding("p", "piece", "Piece"),
        Binding("i", "file", "From a file"),
        Binding("h", "history", "History"),
    ]
    HEADINGS = f"{'set':17}{'pieces':>6}  {'class':10}{'due':12}left"
    FIRST_TIME = """
No reference masses are registered here yet.

Press A to register a set: its name, and what is marked on its pieces.
Press I to read one from a CSV file.
"""

    def read_lines(self, journal: "Journal") -> Sequence[Line]:
        """Return a line a set."""
        from scalewright.records.registers import items

        due = {line.kept.key: line for line in due_lines(journal, self.bench.today()) if line.kept.kind == "masses"}
        return [
            Line(key, Content.assemble(_line_of(masses), due_words(due.get(key))))
            for key, masses in items(journal, MassSet).items()
        ]

    def read_up(self, journal: "Journal", key: str) -> object:
        """Return the set, and everything its register entries say."""
        from scalewright.records.registers import history

        return history(journal, MassSet, key)

    def show_found(self, found: object) -> None:
        """Show the set as it is now."""
        told = [f"{each.at[:10]}  {each.by:4}  {each.why}" for each in self._known[::-1]]
        lines = [*_facts_of(self.masses), Content(""), heading("entries"), *map(Content, told)]
        self.query_one("#known", Static).update(text_of(lines))

    @property
    def _known(self) -> "list[Registered[MassSet]]":
        assert isinstance(self.found, list)
        return self.found

    @property
    def masses(self) -> MassSet:
        """The set one is on; only where it was read up."""
        return self._known[-1].item

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What is about one set needs one."""
        if action in ("change", "piece", "history"):
            return self.found is not None
        return super().check_action(action, parameters)

    def action_add(self) -> None:
        """Ask for a new set."""
        fields = [field for field in MASS_SET if field.name != "state"]
        key, *rest = cells_for(fields, {}, by=self.bench.by, why="first registered")
        self.fill_in("A new set of reference masses", [key, _PIECES, _CLASS, *rest], self._add)

    async def _add(self, typed: Mapping[str, str]) -> str:
        def make() -> Sequence[MassSet]:
            return [mass_set_of(values_of(MASS_SET, typed), pieces_of(typed["pieces"], typed["class"]))]

        return await self.keep(Entering.typed(typed, make, is_new=True))

    def action_change(self) -> None:
        """Ask what is to change about the set."""
        before = self.masses
        texts = texts_of(before)
        fields = MASS_SET[1:]

        async def keep(typed: Mapping[str, str]) -> str:
            def make() -> Sequence[MassSet]:
                return [mass_set_of(values_of(fields, typed, texts), before=before)]

            return await self.keep(Entering.typed(typed, make, is_new=False))

        self.fill_in(f"Change {before.key}", cells_for(fields, texts, by=self.bench.by), keep)

    def action_piece(self) -> None:
        """Ask which piece is to get new values."""
        names = [*(piece.name for piece in self.masses.pieces), _NEW]

        def take(place: int | None) -> None:
            if place is not None:
                self._ask_for_piece(self.masses, None if names[place] == _NEW else self.masses.piece(names[place]))

        self.app.push_screen(ChooseScreen("Which piece?", names), take)

    def _ask_for_piece(self, masses: MassSet, piece: Piece | None) -> None:
        texts = {} if piece is None else texts_of(piece)

        async def keep(typed: Mapping[str, str]) -> str:
            def make() -> Sequence[MassSet]:
                new = piece_of(values_of(PIECE, typed))
                kept = [new if each == piece else each for each in masses.pieces]
                return [mass_set_of({}, kept if piece else [*kept, new], masses)]

            return await self.keep(Entering.typed(typed, make, is_new=False))

        title = f"{masses.key}: {_NEW if piece is None else f'piece {piece.name}'}"
        self.fill_in(title, cells_for(PIECE, texts, by=self.bench.by), keep)

    def action_file(self) -> None:
        """Ask for a file."""

        async def keep(typed: Mapping[str, str]) -> str:
            return await self.keep(Entering.typed(typed, lambda: [read_mass_set(typed["file"])], is_new=None))

        file = Cell("file", "CSV file", "", "as scalewright register masses export writes it")
        self.fill_in("A set from a file", [file, *cells_for((), {}, by=self.bench.by)], keep)

    def action_history(self) -> None:
        """Ask for a piece."""
        key, names = self.masses.key, [piece.name for piece in self.masses.pieces]

        def take(place: int | None) -> None:
            if place is not None:
                self.read(lambda journal: _values(journal, key, names[place]), show)

        def show(values: "list[PieceValue]") -> None:
            self.app.push_screen(TextScreen(f"{key}: the values a piece has had", history_of(values)))

        self.app.push_screen(ChooseScreen("The history of which piece?", names), take)


def _line_of(masses: MassSet) -> str:
    classes = sorted({piece.weight_class for piece in masses.pieces if piece.weight_class})
    due = str(masses.due or "-")
    return f"{cut(masses.key, 16)} {len(masses.pieces):>6}  {cut(', '.join(classes) or 'none', 9)} {due:11} "


def _facts_of(masses: MassSet) -> list[Content]:
    paper = masses.certificate
    lines = [heading(masses.key), *stated(("serial number", masses.serial_number), ("state", masses.state))]
    if paper is None:
        lines.append(Content.styled("no certificate: pieces count as their class allows", "$accent"))
    else:
        lines += stated(
            ("certificate", f"{paper.number}, {paper.issued_by}"), ("of", paper.on), ("due", paper.due or "no date"),
            ("up to", paper.up_to_g and f"{paper.up_to_g:f} g"),
        )  # fmt: skip
    lines += [Content(""), Content.styled(f"{'piece':8}{'value, g':>16}{'U, g':>12}  {'k':4}class", "$secondary")]
    return [*lines, *(Content(_piece_line(piece)) for piece in masses.pieces)]


def _piece_line(piece: Piece) -> str:
    if piece.expanded_u_g is None:
        return f"{piece.name:8}{f'{piece.nominal_g:f}':>16}{'nominal':>12}  {'':4}{piece.weight_class or 'none'}"
    return f"{piece.name:8}{piece.mass_g:>16f}{piece.expanded_u_g:>12f}  {piece.k!s:4}{piece.weight_class or 'none'}"


def pieces_of(text: str, weight_class: str) -> list[Piece]:
    """Return pieces as a person lists them, such as 500 200 200*. Raises InputError."""
    names = text.replace(",", " ").split()
    if not names:
        raise InputError("pieces are missing; expected what is marked on them, such as 500 200 200* 100")
    return [_piece(name, weight_class) for name in names]


def _piece(name: str, weight_class: str) -> Piece:
    values = values_of(PIECE, {"name": name, "nominal_g": name.rstrip("*"), "class": weight_class})
    return piece_of(values)


def _values(journal: "Journal", key: str, piece: str) -> "list[PieceValue]":
    from scalewright.records.registers import values_of_piece

    return values_of_piece(journal, key, piece)


def history_of(values: "Sequence[PieceValue]") -> Content:
    """Return the values of a piece, the newest last, and whether they agree, in words."""
    if not values:
        return Content("No certificate has had a value for this piece.")
    head = f"{'on':11}{'certificate':12}{'value, g':>13}{'U, g':>8}{'change, g':>10}{'E_n':>6}"
    return text_of([Content.styled(head, "$secondary"), *map(_value_line, values)])


def _value_line(value: "PieceValue") -> Content:
    change, e_n = value.change_g or Decimal(0), value.e_n
    text = f"{value.on or '-'!s:11}{cut(value.certificate, 11)} {value.conventional_mass_g:>13f}"
    text += f"{value.expanded_u_g:>8f}"
    if e_n is None:
        return Content(text)
    words, style = ("  agrees", "$success") if abs(e_n) <= 1 else ("  ! CHANGED", "bold $error")
    return Content.assemble(f"{text}{change:>+10f}{e_n:>+6.2f}", (words, style))
