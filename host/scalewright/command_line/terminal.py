"""`scalewright bench`: the screens."""

import argparse
from pathlib import Path

from scalewright.errors import InputError
from scalewright.records import DEFAULT_FILE

BROWSER_PORT = 8042


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--port", default="", metavar="URL", help="connect at once; virtual://bench needs no hardware")
    parser.add_argument("--records", default=DEFAULT_FILE, metavar="FILE", help="the journal to append to")
    parser.add_argument("--light", action="store_true", help="dark letters on a light ground; F3 changes it")
    parser.add_argument("--plain", action="store_true", help="lines of text only, one a change, for screen readers")
    parser.add_argument("--ascii", action="store_true", help="no box drawing and no blocks, for old consoles")
    browser = f"the same in a browser on this computer, without a login (PORT: {BROWSER_PORT}); stays until Ctrl+C"
    parser.add_argument("--browser", nargs="?", type=int, const=BROWSER_PORT, metavar="PORT", help=browser)


def run(arguments: argparse.Namespace) -> int:
    """Open the screens until the person leaves."""
    if arguments.browser is not None:
        _serve(arguments)
        return 0
    from scalewright.terminal.bench import Bench

    bench = Bench(Path(arguments.records))
    if arguments.plain:
        from scalewright.terminal.plain import run_plain

        run_plain(bench, arguments.port)
        return 0
    from scalewright.terminal.app import BenchApp

    BenchApp(bench, arguments.port, is_light=arguments.light, is_ascii=arguments.ascii).run()
    return 0


def _serve(arguments: argparse.Namespace) -> None:
    try:
        from scalewright.terminal.browser import serve
    except ImportError as error:
        raise InputError("screens in a browser need textual-serve", remedy="pip install 'scalewright[web]'") from error
    if not 1 <= arguments.browser <= 65535 or arguments.plain:
        raise InputError("--browser goes without --plain, and its PORT is a number from 1 to 65535")
    looks = [f"--{look}" for look in ("light", "ascii") if getattr(arguments, look)]
    words = ["-m", "scalewright", "bench", "--port", arguments.port, "--records", arguments.records, *looks]
    serve(words, arguments.browser)
