"""`python -m scalewright` and the `scalewright` command."""

import sys


def main() -> int:
    from scalewright.command_line.main import run

    return run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
