"""What the journal tells of jobs: a line for each, the newest first, and everything there is to say of one."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any

from scalewright.certificates.issue import issued
from scalewright.errors import ScalewrightError
from scalewright.plain import revive
from scalewright.procedures.job import PROCEDURES_VERSION, Story
from scalewright.procedures.outcomes import Outcome
from scalewright.records.journal import Entry, Journal

PASSED, FAILED, OPEN, LEFT = "passed", "FAILED", "open", "left"
"""the states of a job, in words; left: ended without a result"""
PAGE = 50
ALL = "all"


@dataclass(frozen=True)
class JobLine:
    """A job in a line."""

    name: str
    seq: int
    """number of its first entry"""
    at: str
    """when it was begun: UTC, ISO 8601"""
    what: str
    """such as "daily check" """
    scale: str
    """key of the scale in the register, or the serial number of the device"""
    by: str
    state: str
    """one of PASSED, FAILED, OPEN, LEFT"""


@dataclass(frozen=True)
class JobStory:
    """Everything there is to say of a job."""

    line: JobLine
    begun: Entry
    last: Entry
    story: Story
    outcomes: tuple[Outcome, ...]
    unread: str
    """why the outcomes are not known; empty where they are"""
    certificates: tuple[str, ...]

    @property
    def accepted(self) -> list[str]:
        """Why readings were accepted that had been refused."""
        return [why for _, _, why in self.story.answers if why]

    @property
    def device_left(self) -> dict[str, Any]:
        """The device as the job left it; as it was found where the job has no result."""
        found: dict[str, Any] = (self.story.end or {}).get("device") or self.story.begun["device"]
        return found


def newest_jobs(journal: Journal, before: int | None = None, n: int = PAGE, *, only: str = ALL) -> list[JobLine]:
    """Return the newest n jobs, the newest first; before: only those begun before this entry. only: OPEN ones."""
    return list(islice((line for line in _lines(journal, before) if only in (ALL, line.state)), n))


def _lines(journal: Journal, before: int | None) -> Iterator[JobLine]:
    while begun := journal.newest(PAGE, kind="job.begun", before=before):
        yield from (_line(journal, entry) for entry in begun)
        before = begun[-1].seq


def _line(journal: Journal, begun: Entry) -> JobLine:
    body: dict[str, Any] = begun.body
    known = body.get("circumstances") or {}
    scale = known.get("scale") or body["device"]["serial_number"]
    state = _state(journal, begun.job)
    return JobLine(begun.job, begun.seq, begun.at, words_for(body["procedure"]), scale, known.get("by", ""), state)


def _state(journal: Journal, job: str) -> str:
    ended = journal.newest(1, kind="job.ended", job=job)
    if ended:
        return PASSED if ended[0].body["passed"] else FAILED
    return LEFT if journal.newest(1, kind="job.left", job=job) else OPEN


def words_for(procedure: str) -> str:
    """Return the name of a procedure in words: daily check for DailyCheck."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", procedure).lower()


def read_job(journal: Journal, name: str) -> JobStory:
    """Return what the journal tells of one job. Raises RecordError where there is none, or it cannot be read."""
    entries = list(journal.entries(name))
    story = Story.of(entries, name)
    outcomes, unread = _outcomes(story)
    certificates = tuple(each.issue.number for each in issued(journal, name))
    return JobStory(_line(journal, entries[0]), entries[0], entries[-1], story, outcomes, unread, certificates)


def _outcomes(story: Story) -> tuple[tuple[Outcome, ...], str]:
    """Return what was found as it was kept at the end; of an open job as its answers tell it."""
    try:
        if story.end is not None:
            return revive(story.end["outcomes"], tuple[Outcome, ...], "outcomes"), ""
        if story.begun.get("procedures_version") != PROCEDURES_VERSION:
            return (), "it was begun by another version of Scalewright"
        return tuple(story.replay().outcomes), ""
    except ScalewrightError as error:
        return (), str(error)
