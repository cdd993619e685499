"""`python -m scalewright` and the `scalewright` command."""

import io
import sys


def main() -> int:
    from scalewright.command_line.main import run

    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")  # a name the terminal cannot show is no reason to stop
    return run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
