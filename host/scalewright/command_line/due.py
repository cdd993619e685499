"""`scalewright due`: which scales, reference masses and instruments are to be calibrated, the most urgent first."""

import argparse
import json
from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import Any

from scalewright.due_list import OVERDUE, SOON_DAYS, Due, due_list
from scalewright.errors import InputError
from scalewright.records import DEFAULT_FILE

_HEADINGS = f"{'due':10}  {'':8}  {'days':>5}  {'kind':11}  {'key':16}  last calibrated"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--records", default=DEFAULT_FILE, metavar="FILE", help="records file, or URL")
    parser.add_argument("--on", metavar="DATE", help="as of this day, such as 2026-03-31 (default: today, UTC)")
    parser.add_argument(
        "--soon", type=int, default=SOON_DAYS, metavar="DAYS", help=f"due soon from so many days before ({SOON_DAYS})"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Report. Exit code 1 where something is overdue."""
    from scalewright.records.history import kept_items
    from scalewright.records.journal import Journal

    on = _day(arguments.on)
    with Journal(arguments.records, read_only=True) as journal:
        lines = due_list(kept_items(journal), on, arguments.soon)
    if arguments.json:
        print(
            json.dumps({"on": on.isoformat(), "soon_days": arguments.soon, "items": [_facts(line) for line in lines]})
        )
    else:
        print("\n".join(_report(lines, on)))
    return 1 if any(line.state == OVERDUE for line in lines) else 0


def _day(text: str | None) -> date:
    if text is None:
        return datetime.now(UTC).date()
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"--on {text[:40]!a}; expected a day such as 2026-03-31") from error


def _facts(line: Due) -> dict[str, Any]:
    kept = line.kept
    days = {"last_calibrated": kept.calibrated, "due": kept.due}
    return {
        "key": kept.key,
        "kind": kept.kind,
        **{name: day and day.isoformat() for name, day in days.items()},
        "state": line.state,
        "days_left": line.days,
        "why": kept.why,
    }


def _report(lines: Sequence[Due], on: date) -> list[str]:
    if not lines:
        return [f"nothing is registered in these records on {on}"]
    return [f"on {on}", _HEADINGS, *map(_line, lines)]


def _line(line: Due) -> str:
    kept, days = line.kept, "" if line.days is None else str(line.days)
    remark = f"  {kept.why}" if kept.why else ""
    return (
        f"{kept.due or 'no date'!s:10}  {line.state:8}  {days:>5}  {kept.kind:11}  {kept.key:16}  "
        f"{kept.calibrated or 'unknown'}{remark}"
    )
