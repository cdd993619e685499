"""Jobs that were begun and have no end yet, as a person chooses among them."""

from dataclasses import dataclass
from pathlib import Path

from scalewright.procedures.job import Story, open_jobs
from scalewright.records.journal import Journal

CALIBRATION, TEST, DAILY_CHECK = "calibration", "test", "daily check"


@dataclass(frozen=True)
class OpenJob:
    """One of them."""

    name: str
    kind: str
    """CALIBRATION, TEST or DAILY_CHECK."""
    serial_number: str
    """Of the scale it was begun with."""
    answers: int
    """How many requests are answered already."""


def find_open_jobs(records: Path, serial_number: str = "") -> list[OpenJob]:
    """Return them, the newest first, of one scale if its serial number is given. Raises RecordError."""
    if not records.exists():
        return []
    with Journal(records, read_only=True) as journal:
        stories = [Story.of(journal.entries(job=name), name) for name in reversed(open_jobs(journal))]
    found = [
        OpenJob(story.name, _kind_of(story), story.begun["device"]["serial_number"], len(story.answers))
        for story in stories
    ]
    return [job for job in found if serial_number in ("", job.serial_number)]


def _kind_of(story: Story) -> str:
    if story.begun["procedure"] == "DailyCheck":
        return DAILY_CHECK
    return TEST if story.begun["plan"]["adjustment"] is None else CALIBRATION
