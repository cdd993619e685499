"""`scalewright ports`"""

import argparse
import json


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """List the ports."""
    from scalewright.link.ports import find_ports

    ports = find_ports()
    if arguments.json:
        print(json.dumps({"ports": [vars(port) for port in ports]}))
    else:
        for port in ports:
            print(f"{port.url:24} {port.description}")
    return 0
