"""`scalewright bench`: the screens."""

import argparse
from pathlib import Path

from scalewright.records import DEFAULT_FILE


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--port", default="", metavar="URL", help="connect at once; virtual://bench needs no hardware")
    parser.add_argument("--records", default=DEFAULT_FILE, metavar="FILE", help="the journal to append to")
    parser.add_argument("--light", action="store_true", help="dark letters on a light ground; F3 changes it")
    parser.add_argument("--plain", action="store_true", help="lines of text only, one a change, for screen readers")
    parser.add_argument("--ascii", action="store_true", help="no box drawing and no blocks, for old consoles")


def run(arguments: argparse.Namespace) -> int:
    """Open the screens until the person leaves."""
    from scalewright.terminal.bench import Bench

    bench = Bench(Path(arguments.records))
    if arguments.plain:
        from scalewright.terminal.plain import run_plain

        run_plain(bench, arguments.port)
        return 0
    from scalewright.terminal.app import BenchApp

    BenchApp(bench, arguments.port, is_light=arguments.light, is_ascii=arguments.ascii).run()
    return 0
