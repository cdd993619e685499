"""`scalewright records`: see what was recorded, and prove that nothing in it was changed since."""

import argparse
import json
import sys
from typing import TYPE_CHECKING, Any

from scalewright.errors import InputError
from scalewright.records import DEFAULT_FILE

if TYPE_CHECKING:
    from scalewright.records.journal import Entry, Journal


def add_arguments(parser: argparse.ArgumentParser) -> None:
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)
    what = "recompute every hash; exit code 1 where an entry was changed, removed, swapped or inserted"
    verify = actions.add_parser("verify", help=what, description=what[0].upper() + what[1:] + ".")
    head_help = "64 digits noted earlier, which must still be the hash of an entry: finds a rewritten end too"
    verify.add_argument("--head", metavar="HASH", help=head_help)
    verify.set_defaults(act=_verify)
    listing = actions.add_parser("list", help="print entries in order", description="Print entries in order.")
    listing.add_argument("--job", help="only the entries of this job")
    listing.add_argument("--kind", help="only entries of this kind, such as job.ended")
    listing.set_defaults(act=_list)
    for action in (verify, listing):
        default_help = f"records file (default: {DEFAULT_FILE} in the current folder)"
        action.add_argument("file", nargs="?", default=DEFAULT_FILE, metavar="FILE", help=default_help)
        action.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    from scalewright.records.journal import Journal

    with Journal(arguments.file, read_only=True) as journal:
        return int(arguments.act(journal, arguments))


def _verify(journal: "Journal", arguments: argparse.Namespace) -> int:
    verification = journal.verify(_hash(arguments.head))
    facts = {
        "file": arguments.file,
        "holds": verification.holds,
        "entries": verification.entries,
        "head": verification.head,
        "seq": verification.seq,
        "reason": verification.reason,
        "detail": verification.detail,
    }
    _print(json.dumps(facts) if arguments.json else f"{arguments.file}: {verification}")
    return 0 if verification.holds else 1


def _hash(text: str | None) -> str | None:
    if text is None:
        return None
    if len(text) != 64 or not set(text.lower()) <= set("0123456789abcdef"):
        raise InputError(f"--head {text}: expected the 64 hexadecimal digits of a hash")
    return text.lower()


def _list(journal: "Journal", arguments: argparse.Namespace) -> int:
    entries = journal.entries(arguments.job, arguments.kind)
    if arguments.json:
        _print(json.dumps({"file": arguments.file, "entries": [_facts(entry) for entry in entries]}))
    else:
        for entry in entries:
            _print(f"{entry.seq:>6}  {entry.at}  {entry.kind}  {entry.job}  {entry.body_json}")
    return 0


def _facts(entry: "Entry") -> dict[str, Any]:
    names = ("seq", "at", "kind", "job", "body", "previous", "hash")
    return {name: getattr(entry, name) for name in names}


def _print(line: str) -> None:
    """Print also what the terminal has no letters for, or what is no text at all in a damaged file."""
    encoding = sys.stdout.encoding or "utf-8"
    print(line.encode(encoding, "backslashreplace").decode(encoding))
