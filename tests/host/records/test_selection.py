"""Which entries are meant, in both stores."""

from datetime import UTC, datetime
from typing import Any

from scalewright.records.journal import Addition, Journal
from scalewright.records.selection import Selection


def day(number: int) -> datetime:
    return datetime(2031, 5, number, 12, tzinfo=UTC)


def begun(scale: str, serial_number: str) -> dict[str, Any]:
    return {"circumstances": {"scale": scale}, "device": {"serial_number": serial_number}}


ENTRIES = [
    Addition("register.scale", "PLOVER-1", {"item": {"key": "PLOVER-1"}}, day(1)),
    Addition("job.begun", "PLOVER-1:Calibration:a", begun("PLOVER-1", "0007"), day(2)),
    Addition("job.begun", "job-b", begun("", "0008"), day(3)),
    Addition("job.ended", "PLOVER-1:Calibration:a", {"remarks": "PLOVER-2"}, day(4)),
    Addition("job.begun", "job-c", {"remarks": "PLOVER-1", "device": {"serial_number": "0009"}}, day(5)),
    Addition("job.ended", "job-b", {}, day(6)),
]


CASES = [
    (Selection(), [1, 2, 3, 4, 5, 6]),
    (Selection(job="job-b"), [3, 6]),
    (Selection(kind="job."), [2, 3, 4, 5, 6]),
    (Selection(scale="PLOVER-1"), [1, 2, 4]),  # not where it is only mentioned
    (Selection(scale="0007"), [2, 4]),
    (Selection(scale="0008", kind="job.ended"), [6]),
    (Selection(scale="PLOVER-1", job="job-b"), []),
    (Selection(scale="PLOVER-1", job="PLOVER-1:"), [2, 4]),
    (Selection(scale="PLOVER-2"), []),
    (Selection(since="2031-05-03T12:00:00.000000Z", until="2031-05-06T12:00:00.000000Z"), [3, 4, 5]),
    (Selection(scale="PLOVER-1", since="2031-05-02T00:00:00.000000Z"), [2, 4]),
]


def test_what_is_selected(address: str) -> None:
    with Journal(address) as journal:
        journal.append_all(ENTRIES)
        for selection, expected in CASES:
            assert [entry.seq for entry in selection.entries(journal)] == expected, selection
            assert [entry.seq for entry in selection.newest(journal, 2)] == expected[::-1][:2], selection
            before = [n for n in (3, 2, 1) if n in expected]
            assert [entry.seq for entry in selection.newest(journal, 9, before=4)] == before, selection
