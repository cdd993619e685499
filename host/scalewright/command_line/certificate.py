"""`scalewright certificate`: the certificate of a finished job, from its record alone."""

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scalewright.certificates.files import FORMATS, rendered, write
from scalewright.errors import InputError
from scalewright.records import DEFAULT_FILE

if TYPE_CHECKING:
    from scalewright.certificates.document import Certificate
    from scalewright.certificates.issue import Issue

_FIRST = "scalewright certificate JOB --details FILE; scalewright.certificates.issue_file explains its keys"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.epilog = f"The first time, {_FIRST}. From then on the same record gives the same bytes."
    parser.add_argument("job", metavar="JOB", help="name of the job, as scalewright records list shows it")
    formats = "pdf: paper, with the digital certificate attached; xml: the digital certificate alone; csv: results"
    parser.add_argument("--format", choices=FORMATS, help=f"{formats} (default: by the name of the file)")
    parser.add_argument("--out", metavar="FILE", help="the file to write; it is replaced as a whole")
    raw = "also write the raw readings that every result is computed from to this CSV file"
    parser.add_argument("--raw", metavar="FILE", help=raw)
    details = "TOML file with laboratory, customer, place and who authorises it: issues the certificate"
    parser.add_argument("--details", metavar="FILE", help=details)
    parser.add_argument("--replaces", default="", metavar="NUMBER", help="with --details: the certificate it amends")
    parser.add_argument("--because", default="", metavar="WHY", help="with --replaces: what was wrong with it")
    fonts = "folder with fonts for characters that the built-in ones have not (may be given again)"
    parser.add_argument("--fonts", action="append", default=[], metavar="FOLDER", help=fonts)
    parser.add_argument("--records", default=DEFAULT_FILE, metavar="FILE", help=f"default: {DEFAULT_FILE}")
    parser.add_argument("--json", action="store_true", help="print one JSON object that says what was made")


def run(arguments: argparse.Namespace) -> int:
    """Issue the certificate if asked to, and write it. Exit code 1 where the scale is outside its limits."""
    from scalewright.certificates.evidence import certificate_of, issue_certificate
    from scalewright.certificates.spreadsheet import raw_csv
    from scalewright.records.journal import Journal

    kind, issue, job = _kind(arguments), _issue(arguments), arguments.job
    with Journal(arguments.records, read_only=issue is None) as journal:
        certificate = certificate_of(journal, job) if issue is None else issue_certificate(journal, job, issue)
    if kind:
        write(arguments.out, rendered(certificate, kind, tuple(arguments.fonts)))
    if arguments.raw:
        write(arguments.raw, raw_csv(certificate).encode())
    print(_report(certificate, arguments))
    return 1 if certificate.final.conforms is False else 0


def _issue(arguments: argparse.Namespace) -> "Issue | None":
    from dataclasses import replace

    from scalewright.certificates.issue_file import read_issue

    if arguments.details is None:
        if arguments.replaces or arguments.because:
            raise InputError("--replaces and --because belong to an issue; expected --details FILE too")
        return None
    records = "RECORDS" if "://" in arguments.records else Path(arguments.records).name
    said = {"replaces": arguments.replaces, "because": arguments.because, "records": records}
    return replace(read_issue(arguments.details), **said)


def _kind(arguments: argparse.Namespace) -> str:
    """Return the format to write, empty where none is wanted. Raises InputError for one that there is not."""
    if arguments.out is None:
        if arguments.format:
            raise InputError("--format says what to write; expected --out FILE too")
        return ""
    kind: str = arguments.format or Path(arguments.out).suffix.removeprefix(".").lower()
    if kind not in FORMATS:
        raise InputError(f"--out {arguments.out}: expected a name that ends in {', '.join(FORMATS)}, or --format")
    return kind


def _report(certificate: "Certificate", arguments: argparse.Namespace) -> str:
    from scalewright.certificates.wording import verdict

    facts: dict[str, Any] = {
        "number": certificate.number,
        "job": certificate.proof.job,
        "scale": certificate.scale.name,
        "conforms": certificate.final.conforms,
        "records_head": certificate.proof.head,
        "out": arguments.out,
    }
    if arguments.json:
        return json.dumps(facts)
    where = f", written to {arguments.out}" if arguments.out else ""
    said = f"certificate {certificate.number} for scale {certificate.scale.name}: {verdict(certificate.final)}{where}"
    return f"{said}\nproved by {certificate.proof.command}"
