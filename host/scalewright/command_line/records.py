"""`scalewright records`: see what was recorded, prove that nothing in it was changed since, and keep copies."""

import argparse
import json
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scalewright.errors import InputError
from scalewright.records import DEFAULT_FILE

if TYPE_CHECKING:
    from scalewright.records.chain import Verification
    from scalewright.records.journal import Entry, Journal
    from scalewright.records.selection import Selection

_RECORDS = f"records: a file or postgresql+psycopg://USER@HOST/DATABASE (default: {DEFAULT_FILE} in this folder)"
_BODY_WIDTH = 72  # of an entry in a list; `show` has all of it


def add_arguments(parser: argparse.ArgumentParser) -> None:
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)

    def action(name: str, what: str, act: Any) -> argparse.ArgumentParser:
        added = actions.add_parser(name, help=what, description=what[0].upper() + what[1:] + ".")
        added.add_argument("--json", action="store_true", help="print one JSON object")
        added.set_defaults(act=act)
        return added

    listing = action("list", "print entries in order, or the newest ones first", _list)
    showing = action("show", "print all entries of one job in full", _show)
    verifying = action("verify", "recompute every hash; exit code 1 where an entry is not as it was written", _verify)
    backing_up = action("backup", "write all records to a new file, while others may go on writing", _back_up)
    restoring = action(
        "restore", "add what a backup has and the records lack; make them where there are none", _restore
    )
    exporting = action("export", "write chosen entries to one file that proves itself", _export)
    importing = action("import", "take exported entries into these records, with what proves them", _import)
    for added in (listing, verifying):
        default = _RECORDS if added is listing else f"{_RECORDS}, or a file of exported entries"
        added.add_argument("file", nargs="?", default=DEFAULT_FILE, metavar="RECORDS", help=default)
    for added in (showing, backing_up, restoring, exporting, importing):
        added.add_argument("--records", default=DEFAULT_FILE, metavar="RECORDS", help=_RECORDS)
    for added in (listing, exporting):
        _add_selection(added)
    listing.add_argument("--newest", type=int, metavar="N", help="only the newest N entries, the newest first")
    listing.add_argument("--before", type=int, metavar="NUMBER", help="with --newest: only entries before this one")
    showing.add_argument("job", metavar="JOB", help="name of the job, as records list prints it")
    head_help = "64 digits noted earlier, which must still be the hash of an entry: finds a rewritten end too"
    verifying.add_argument("--head", metavar="HASH", help=head_help)
    for added, what in ((backing_up, "new file"), (exporting, "new file, such as plover.jsonl")):
        added.add_argument("file", metavar="FILE", help=what)
    for added, what in ((restoring, "a backup, or another records file"), (importing, "a file of exported entries")):
        added.add_argument("file", metavar="FILE", help=what)
    replace_help = "put a records file with entries that the backup lacks aside, and the backup in its place"
    restoring.add_argument("--replace", action="store_true", help=replace_help)


def _add_selection(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--job", help="only the entries of this job")
    parser.add_argument("--scale", metavar="KEY", help="only those of this scale: key in the register or serial number")
    kind_help = "only entries of this kind, such as job.ended; one that ends with a dot means all that begin so"
    parser.add_argument("--kind", help=kind_help)
    parser.add_argument("--since", metavar="TIME", help="only from this day or time on (UTC), such as 2031-05-04")
    parser.add_argument("--until", metavar="TIME", help="only up to this time, or to the end of this day (UTC)")


def run(arguments: argparse.Namespace) -> int:
    return int(arguments.act(arguments))


def _list(arguments: argparse.Namespace) -> int:
    newest, before = arguments.newest, arguments.before
    if newest is None and before is not None:
        raise InputError("--before needs --newest")
    if newest is not None and newest < 1:
        raise InputError(f"--newest {newest}: expected at least 1")
    with _open(arguments.file) as journal:
        selection = _selection(arguments)
        entries = selection.entries(journal) if newest is None else selection.newest(journal, newest, before)
        if arguments.json:
            _print_json(file=arguments.file, entries=[_facts(entry) for entry in entries])
        else:
            for entry in entries:
                _print(f"{entry.seq:>6}  {entry.at}  {entry.kind}  {entry.job}  {_beginning(entry.body_json)}")
    return 0


def _beginning(text: str) -> str:
    return text if len(text) <= _BODY_WIDTH else text[: _BODY_WIDTH - 1] + "…"


def _show(arguments: argparse.Namespace) -> int:
    with _open(arguments.records) as journal:
        entries = list(journal.entries(job=arguments.job))
    if not entries:
        raise InputError(f"{arguments.records}: no job {arguments.job!r}", remedy="scalewright records list shows them")
    if arguments.json:
        _print_json(file=arguments.records, job=arguments.job, entries=[_facts(entry) for entry in entries])
        return 0
    for entry in entries:
        _print(f"{entry.seq}  {entry.at}  {entry.kind}  {entry.hash}")
        _print(_indented(json.dumps(entry.body, ensure_ascii=False, indent=2)))
    return 0


def _verify(arguments: argparse.Namespace) -> int:
    from scalewright.records.export_file import is_export, verify_export

    head, path = _hash(arguments.head), Path(arguments.file)
    if path.is_file() and is_export(path):
        verification = verify_export(path, head)
        text = f"{verification.entries} exported entries, each as it was written; the journal then ended with "
        text = text + verification.head if verification.holds else verification.detail
    else:
        with _open(arguments.file) as journal:
            verification = journal.verify(head)
        text = str(verification)
    if arguments.json:
        _print_json(**_verified(arguments.file, verification))
    else:
        _print(f"{arguments.file}: {text}")
    return 0 if verification.holds else 1


def _back_up(arguments: argparse.Namespace) -> int:
    from scalewright.records.backup import back_up

    with _open(arguments.records) as journal:
        verification = back_up(journal, Path(arguments.file))
    return _tell(arguments, f"{arguments.file}: {verification}", **_verified(arguments.file, verification))


def _restore(arguments: argparse.Namespace) -> int:
    from scalewright.records.backup import restore

    added, verification, aside = restore(Path(arguments.file), arguments.records, replace=arguments.replace)
    text = f"{arguments.records}: {added} entries added; {verification}"
    if aside:
        text += f"\nWhat was there is now {aside}"
    facts = _verified(arguments.records, verification) | {"added": added, "aside": aside and str(aside)}
    _tell(arguments, text, **facts)
    return 0 if verification.holds else 1


def _export(arguments: argparse.Namespace) -> int:
    from scalewright.records.export_file import export

    with _open(arguments.records) as journal:
        number = export(journal, _selection(arguments), Path(arguments.file))
    return _tell(arguments, f"{arguments.file}: {number} entries", file=arguments.file, entries=number)


def _import(arguments: argparse.Namespace) -> int:
    from scalewright.records.export_file import read_export
    from scalewright.records.import_entries import import_entries
    from scalewright.records.journal import Journal

    path = Path(arguments.file)
    read_export(path)  # before the records are opened, which makes them where there are none
    with Journal(arguments.records) as journal:
        added, known = import_entries(journal, path)
    text = f"{arguments.records}: {added} entries added, {known} were there already"
    return _tell(arguments, text, file=arguments.records, added=added, known=known)


def _open(records: str) -> "Journal":
    from scalewright.records.journal import Journal

    return Journal(records, read_only=True)


def _selection(arguments: argparse.Namespace) -> "Selection":
    from scalewright.records.selection import Selection

    since, until = _moment("--since", arguments.since), _moment("--until", arguments.until, is_end=True)
    return Selection(arguments.job, arguments.scale, arguments.kind, since, until)


def _moment(option: str, text: str | None, *, is_end: bool = False) -> str | None:
    """Return a time as entries have it; a day as its beginning, or as its end."""
    if text is None:
        return None
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"{option} {text}: expected a day or a time, such as 2031-05-04T12:30") from error
    utc = (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).astimezone(UTC)
    if is_end:
        utc += timedelta(days=1) if len(text) == len("2031-05-04") else timedelta(microseconds=1)
    return utc.replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def _hash(text: str | None) -> str | None:
    if text is None:
        return None
    if len(text) != 64 or not set(text.lower()) <= set("0123456789abcdef"):
        raise InputError(f"--head {text}: expected the 64 hexadecimal digits of a hash")
    return text.lower()


def _verified(file: str, verification: "Verification") -> dict[str, Any]:
    names = ("holds", "entries", "head", "seq", "reason", "detail")
    return {"file": file} | {name: getattr(verification, name) for name in names}


def _facts(entry: "Entry") -> dict[str, Any]:
    names = ("seq", "at", "kind", "job", "body", "previous", "hash")
    return {name: getattr(entry, name) for name in names}


def _tell(arguments: argparse.Namespace, text: str, **facts: Any) -> int:
    if arguments.json:
        _print_json(**facts)
    else:
        _print(text)
    return 0


def _print_json(**facts: Any) -> None:
    _print(json.dumps(facts))


def _indented(text: str) -> str:
    return "\n".join(f"    {line}" for line in text.splitlines())


def _print(line: str) -> None:
    """Print also what the terminal has no letters for, or what is no text at all in a damaged file."""
    encoding = sys.stdout.encoding or "utf-8"
    print(line.encode(encoding, "backslashreplace").decode(encoding))
