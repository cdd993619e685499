"""`scalewright weigh`: what lies on the scale, in the unit that is wanted, once it is at rest."""

import argparse
import json
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from scalewright.command_line.numbers import number
from scalewright.errors import InputError

if TYPE_CHECKING:
    from scalewright.link.scale import Scale

_READINGS = 8
_FIRST = {"zero": "SENSe:ZERO", "tare": "SENSe:TARE", "clear": "SENSe:TARE:CLEar"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--port", required=True, metavar="URL", help="device name or URL; virtual://bench: no hardware")
    first = parser.add_mutually_exclusive_group()
    first.add_argument("--zero", dest="first", action="store_const", const="zero", help="set to zero first")
    first.add_argument("--tare", dest="first", action="store_const", const="tare", help="take what lies on it as tare")
    first.add_argument("--clear", dest="first", action="store_const", const="clear", help="forget the tare first")
    shown = parser.add_mutually_exclusive_group()
    shown.add_argument("--unit", default="g", metavar="UNIT", help="symbol or name, such as kg, lb or tola (default g)")
    shown.add_argument("--piece", metavar="G", help="count pieces, such as coins, of so many grams each")
    parser.add_argument("--worth", metavar="VALUE", help="with --piece: what one is worth; tells what all are")
    parser.add_argument("--load", metavar="G", help="on a virtual scale: what its own hand puts on it first")
    parser.add_argument("--every", action="store_true", help="go on: a line whenever another load has come to rest")
    parser.add_argument("--json", action="store_true", help="print one JSON object for every load")


def run(arguments: argparse.Namespace) -> int:
    """Weigh once, or until it is interrupted."""
    from scalewright.link.scale import Scale

    shown_as = _in_pieces(arguments) if arguments.piece else _in_unit(arguments)
    load_g = _load_for_the_hand(arguments)
    with Scale.open(arguments.port) as scale:
        if load_g:
            scale.ask(f"VIRTual:LOAD {load_g}")
        if arguments.first:
            _at_rest(scale)  # a scale refuses zero and tare while the load moves
            scale.ask(_FIRST[arguments.first])
        last = None
        while last is None or arguments.every:
            indication_g = _at_rest(scale)
            if indication_g != last:
                result = {"indication_g": float(indication_g)} | shown_as(scale, indication_g)
                print(json.dumps(result) if arguments.json else _line(result), flush=True)
            last = indication_g
    return 0


def _load_for_the_hand(arguments: argparse.Namespace) -> Decimal | None:
    if arguments.load is None:
        return None
    if not arguments.port.startswith("virtual:"):
        raise InputError(f"--load is for a virtual scale; not for {arguments.port}")
    return number(arguments.load, "--load", low=0)


def _at_rest(scale: "Scale") -> Decimal:
    from contextlib import closing

    from scalewright.procedures.stillness import take_indication

    with closing(scale.readings()) as stream:
        return take_indication(stream, _READINGS).indication_g


def _in_unit(arguments: argparse.Namespace) -> Any:
    from scalewright.shown import in_unit
    from scalewright.units import find_unit
    from shared_calc.coefficient_record import decode

    unit = find_unit(arguments.unit)
    if arguments.worth:
        raise InputError("--worth is of pieces; expected --piece with it")

    def shown(scale: "Scale", indication_g: Decimal) -> dict[str, Any]:
        record = decode(scale.read_coefficients())
        return {"shown": in_unit(indication_g, unit, record), "unit": unit.symbol}

    return shown


def _in_pieces(arguments: argparse.Namespace) -> Any:
    from scalewright.shown import in_pieces

    piece_g = number(arguments.piece, "--piece", low=Decimal("0.000001"))
    worth = None if arguments.worth is None else number(arguments.worth, "--worth", low=0)

    def shown(scale: "Scale", indication_g: Decimal) -> dict[str, Any]:
        pieces, left_g = in_pieces(indication_g, piece_g)
        result = {"shown": str(pieces), "unit": "pieces", "left_over_g": float(left_g)}
        return result if worth is None else result | {"worth": str(pieces * worth)}

    return shown


def _line(result: dict[str, Any]) -> str:
    text = f"{result['shown']} {result['unit']}"
    if "left_over_g" in result:
        text += f", {result['left_over_g']:+g} g left over"
    return f"{text}, worth {result['worth']}" if "worth" in result else text
