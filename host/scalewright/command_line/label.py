"""`scalewright label`: labels for scales, from the certificates in the records."""

import argparse
import json
from datetime import date

from scalewright.errors import InputError
from scalewright.records import DEFAULT_FILE


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    which = parser.add_mutually_exclusive_group(required=True)
    scale = "key of the scale in the register: its last certificate (may be given again)"
    which.add_argument("--scale", action="append", default=[], metavar="KEY", help=scale)
    which.add_argument("--job", action="append", default=[], metavar="JOB", help="the job that has the certificate")
    parser.add_argument("--out", required=True, metavar="FILE", help="the PDF to write, A4 sheets of 3 x 8 labels")
    due = "when to calibrate again, YYYY-MM-DD, where that was agreed with the owner; nothing is printed otherwise"
    parser.add_argument("--due", metavar="DATE", help=due)
    parser.add_argument("--first", type=int, default=1, metavar="N", help="place of the sheet to begin at (default 1)")
    parser.add_argument("--records", default=DEFAULT_FILE, metavar="FILE", help=f"default: {DEFAULT_FILE}")
    parser.add_argument("--json", action="store_true", help="print one JSON object that says what is on the labels")


def run(arguments: argparse.Namespace) -> int:
    """Write the labels."""
    from dataclasses import asdict

    from scalewright.certificates.evidence import certificate_of, last_job_of
    from scalewright.certificates.label import label_of, render
    from scalewright.records.journal import Journal
    from scalewright.table_file import replacing

    due = _date(arguments.due)
    with Journal(arguments.records, read_only=True) as journal:
        jobs = arguments.job or [last_job_of(journal, key) for key in arguments.scale]
        certificates = [certificate_of(journal, job) for job in jobs]
    labels = [label_of(certificate, due) for certificate in certificates]
    newest = max(certificate.issued_at for certificate in certificates)
    data = render(labels, int(newest.timestamp()), arguments.first)
    with replacing(arguments.out) as stream:
        stream.buffer.write(data)
    if arguments.json:
        print(json.dumps({"out": arguments.out, "labels": [asdict(label) for label in labels]}))
    else:
        print(f"{len(labels)} label{'s' * (len(labels) > 1)} written to {arguments.out}")
    return 0


def _date(text: str | None) -> date | None:
    try:
        return None if text is None else date.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"--due {text!a:.20}; expected a day such as 2027-03-02") from error
