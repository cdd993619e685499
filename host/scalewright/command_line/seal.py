"""`scalewright seal`: put the seal on, open it, or note how the verification ended; and see the last events."""

import argparse
import json
from dataclasses import asdict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scalewright.link.seal import SealState


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--port", metavar="PORT", required=True, help="device name or URL, as `scalewright ports` says")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--open", action="store_true", help="open the seal, while a hand holds the opening switch")
    what.add_argument("--accept", action="store_true", help="note that the scale has passed its verification")
    what.add_argument("--reject", metavar="REASON", help="mark the scale as rejected, in every reading it gives")
    what.add_argument("--show", action="store_true", help="change nothing")
    parser.add_argument("--json", action="store_true", help="print the result as one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Do it and report. Exit code 1 where the scale is marked as rejected."""
    from scalewright.link.scale import Scale
    from scalewright.link.seal import SealState

    command = _command(arguments)
    with Scale.open(arguments.port) as scale:
        if command:
            scale.ask(command)
        state = SealState.read(scale)
        identity = scale.identify()
    if arguments.json:
        print(json.dumps({"serial_number": identity.serial_number, **asdict(state)}))
    else:
        _print(identity.serial_number, state)
    return 1 if state.verification == "REJECTED" and not arguments.reject else 0


def _print(serial_number: str, state: "SealState") -> None:
    seal = "sealed" if state.sealed else "open"
    remark = f": {state.remark}" if state.remark else ""
    print(f"{serial_number}: {seal}, verification {state.verification}{remark}, {state.number_of_events} events")
    for event in state.last_events:
        change = f"{event.coefficients_before:>8} -> {event.coefficients_after:8}"
        print(f"{event.number:6}  {event.reason:12}  {change}  {event.device_time_s} s after its start")


def _command(arguments: argparse.Namespace) -> str:
    from scalewright.errors import InputError

    if arguments.reject is not None:
        reason = arguments.reject.strip()
        if not reason or len(reason) > 40 or not all(" " <= c <= "}" and c != '"' for c in reason):
            raise InputError(f"--reject {arguments.reject!r}; expected 1 to 40 ASCII characters without quotes")
        return f'CALibration:VERification REJected,"{reason}"'
    if arguments.accept:
        return "CALibration:VERification ACCepted"
    return "" if arguments.show else "CALibration:SEAL OFF" if arguments.open else "CALibration:SEAL ON"
