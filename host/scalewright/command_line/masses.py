"""`scalewright register masses`: what there is to say of sets of reference masses, and the values of a piece."""

import argparse
import os
from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from scalewright.equipment import MassSet, Piece
from scalewright.errors import InputError
from scalewright.register_fields import MASS_SET, mass_set_of
from scalewright.register_files import read_mass_set, render_mass_set

if TYPE_CHECKING:
    from scalewright.records.journal import Journal
    from scalewright.records.registers import PieceValue

HELP = "reference mass sets with certificates and due dates (`scalewright mass` values a single mass)"
KIND = MassSet
FIELDS = MASS_SET
FILE_HELP = "CSV file with the pieces of one set; export writes such a file. After a recalibration: change --from FILE"
EXPORTED = "KEY"  # one set a file


def item_of(values: dict[str, Any], before: MassSet | None = None) -> MassSet:
    """Return the set; its pieces come from a file only."""
    if before is None:
        raise InputError("a new mass set needs its pieces; expected --from FILE")
    return mass_set_of(values, before=before)


def read_file(path: str | os.PathLike[str]) -> list[MassSet]:
    """Return the one set of a file."""
    return [read_mass_set(path)]


def render(sets: Sequence[MassSet]) -> str:
    """Return the text of the file of one set."""
    return render_mass_set(sets[0])


def add_own_arguments(show: argparse.ArgumentParser, *_: argparse.ArgumentParser) -> None:
    """Declare what only mass sets have."""
    show.add_argument("--piece", metavar="NAME", help="the values this piece has had, and how they agree")
    show.add_argument("--load", metavar="G", help="the fewest pieces that make this load, and its uncertainty")


def seen(_: argparse.Namespace) -> dict[str, Any]:
    """Nothing is read from a mass."""
    return {}


def line(masses: MassSet) -> str:
    """Return a mass set in a line."""
    classes = sorted({piece.weight_class for piece in masses.pieces if piece.weight_class})
    return f"{len(masses.pieces)} pieces  {', '.join(classes) or 'no class'}  due {masses.due or '-'}"


def details(journal: "Journal", masses: MassSet, arguments: argparse.Namespace) -> tuple[dict[str, Any], list[str]]:
    """Return the pieces; the values of one, or a load put together, where that was asked for."""
    from scalewright.command_line.numbers import number
    from scalewright.composition import compose
    from scalewright.records.registers import values_of_piece

    facts: dict[str, Any] = {"due": masses.due}
    lines = [f"  {'piece':10}{'conventional mass g':>22}{'u (k = 1) g':>14}  class", *map(_piece, masses.pieces)]
    if arguments.piece is not None:
        values = values_of_piece(journal, masses.key, arguments.piece)
        facts["piece_values"] = [asdict(value) for value in values]
        lines += [f"values of piece {arguments.piece}:", *map(_value, values)]
    if arguments.load is not None:
        load = compose(masses, number(arguments.load, "--load", 0))
        facts["load"] = asdict(load)
        known = "not known" if load.u_load_g is None else f"{load.u_load_g:.3g} g"
        lines.append(f"{arguments.load} g: {' + '.join(load.pieces)} = {load.load_g:f} g, u = {known} (k = 1)")
    return facts, lines


def _piece(piece: Piece) -> str:
    u = "" if piece.u_g is None else f"{piece.u_g:.3g}"
    value = f"{piece.mass_g:f}" + ("" if piece.conventional_mass_g is not None else " nominal")
    return f"  {piece.name:10}{value:>22}{u:>14}  {piece.weight_class}".rstrip()


def _value(value: "PieceValue") -> str:
    change = "" if value.change_g is None else f"  change {value.change_g:+f} g, E_n = {value.e_n:+.2f}"
    where = f"{value.on or ''!s:10}  {value.certificate:16}"
    return f"  {where}{value.conventional_mass_g:f} g, U = {value.expanded_u_g:f} g (k = {value.k}){change}"
