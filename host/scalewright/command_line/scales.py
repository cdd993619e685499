"""`scalewright register scale`: what there is to say of scales."""

import argparse
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from scalewright.equipment import DeviceState, RegisteredScale
from scalewright.register_fields import SCALE, scale_of
from scalewright.register_files import read_scales, render_scales

if TYPE_CHECKING:
    from scalewright.records.journal import Journal

    Details = tuple[dict[str, Any], list[str]]

HELP = "scales"
KIND = RegisteredScale
FIELDS = SCALE
FILE_HELP = "CSV file with a line for each scale; export writes such a file"
EXPORTED = ""  # all of them
item_of = scale_of
read_file = read_scales
render = render_scales


def add_own_arguments(show: argparse.ArgumentParser, *adding: argparse.ArgumentParser) -> None:
    """Declare what only scales have."""
    for action in adding:
        action.add_argument("--port", metavar="URL", help="look at the device there: identity, seal, Max and d")


def seen(arguments: argparse.Namespace) -> dict[str, Any]:
    """Return what the device behind the port says: of a new scale what it is too, where no option says otherwise."""
    if not arguments.port:
        return {}
    from scalewright.link.scale import Scale
    from scalewright.link.sighting import look_at

    with Scale.open(arguments.port) as scale:
        state = look_at(scale)
    if arguments.action == "change":
        return {"seen": state}  # another device is no change of this one
    read = {"model": state.model, "serial_number": state.serial_number, "max_g": state.max_g, "d_g": state.d_g}
    return {"seen": state, **{name: value for name, value in read.items() if value is not None}}


def line(scale: RegisteredScale) -> str:
    """Return a scale in a line."""
    return f"{scale.serial_number:16}  Max {_plain(scale.max_g)} g, d {_plain(scale.d_g)} g  {scale.place}".rstrip()


def details(journal: "Journal", scale: RegisteredScale, _: argparse.Namespace) -> "Details":
    """Return what else is to be said of a scale."""
    from scalewright.records.registers import last_seen

    state, due = last_seen(journal, scale), scale.due()
    facts = {"e_g": scale.e_g, "limits_source": scale.limits.source, "due": due, "last_seen": state and vars(state)}
    lines = [f"  {'limits':18}{scale.limits.source}", *([f"  {'due':18}{due}"] if due else [])]
    return facts, [*lines, *([f"  {'last seen':18}{_state(state)}"] if state else [])]


def _state(state: DeviceState) -> str:
    seal = {True: ", sealed", False: ", open", None: ""}[state.sealed]
    return f"{state.at[:16]}: firmware {state.firmware}, coefficients {state.coefficients}, event {state.events}{seal}"


def _plain(value: Decimal) -> str:
    return f"{value:f}"
