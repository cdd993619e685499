"""Labels to stick on scales: a sheet of them as PDF, each with what ties the scale to its certificate.

A recommendation of when to calibrate again belongs on a label only where it was agreed with whoever owns the scale
(ISO/IEC 17025:2017, 7.8.4.3): a label without a due date says nothing of it.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date

from scalewright.certificates.document import Certificate
from scalewright.certificates.pdf import typeset
from scalewright.certificates.text import cleaned
from scalewright.certificates.wording import verdict
from scalewright.errors import InputError

SHORT_HASH = 12
"""digits of the hash on a label"""
MOST = 200


@dataclass(frozen=True)
class Label:
    """What one label says."""

    scale: str
    serial_number: str
    calibrated_on: str
    due: str
    """empty: not agreed"""
    certificate: str
    result: str
    hash: str
    """the first digits"""
    event_counter: str
    coefficients_crc: str


def label_of(certificate: Certificate, due: date | None = None) -> Label:
    """Return the label for the scale of a certificate; due: the day agreed with its owner."""
    facts = cleaned(certificate)
    counter = facts.scale.event_counter
    return Label(
        facts.scale.name,
        facts.scale.serial_number,
        facts.ended_on.isoformat(),
        due.isoformat() if due else "",
        facts.number,
        verdict(facts.final),
        facts.proof.head[:SHORT_HASH],
        "" if counter is None else str(counter),
        facts.scale.coefficients_crc,
    )


def render(labels: Sequence[Label], timestamp: int, first: int = 1) -> bytes:
    """Return A4 sheets of labels, 3 x 8 of 63.5 mm x 33.9 mm; first: the place on the sheet to begin at, 1 to 24.

    Raises InputError for a place that a sheet has not, and for no label or more than MOST.
    """
    if not 1 <= first <= 24 or not 1 <= len(labels) <= MOST:
        raise InputError(f"{len(labels)} labels from place {first}; expected 1 to {MOST}, from place 1 to 24")
    return typeset("label.typ", {"labels": [asdict(label) for label in labels], "first": first}, timestamp)
