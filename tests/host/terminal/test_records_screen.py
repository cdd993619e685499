"""Records by keyboard, on two invented years at a bench."""

import json
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from scalewright.records.journal import Journal
from scalewright.terminal.app import BenchApp
from scalewright.terminal.bench import Bench
from scalewright.terminal.job_lines import PAGE, newest_jobs
from tests.host.terminal.laboratory import TODAY, copy_to, laboratory
from tests.host.terminal.pilot import SIZES, play, press, text_of, until, until_as_kept, until_it_says

FIRST, SECOND, THIRD = "left", "open", "passed"


def app_of(records: Path) -> BenchApp:
    """Return the app on these records, on the last day of them."""
    return BenchApp(Bench(records, today=lambda: TODAY))


async def open_screen(pilot: "Pilot[None]", key: str, words: str) -> None:
    await press(pilot, key)
    await until_it_says(pilot, words)


def retype(pilot: "Pilot[None]", text: str) -> None:
    """Put another text into the field one is in, at once: key by key, long ones take their time."""
    field = pilot.app.focused
    assert isinstance(field, Input)
    field.value = text


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_jobs_are_listed_newest_first_with_their_result_in_words(size: tuple[int, int]) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "5", "daily check")
        await until_as_kept(pilot, "records")

    play(app_of(laboratory()), steps, size)


def test_a_job_tells_what_was_found_beside_what_is_allowed_and_what_was_set_aside() -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "5", "daily check")
        await press(pilot, "down", "down", "enter")
        await until_it_says(pilot, "set aside: mass set BLOCKS-M1 was due on 2026-12-01")
        await until_it_says(pilot, "error at 500.0021 g, up")
        await press(pilot, "end")
        with Journal(laboratory(), read_only=True) as journal:
            ended = list(journal.entries("PLOVER:Calibration:20270208T083000Z-00000000"))[-1]
        await until_it_says(pilot, ended.hash[32:])
        await press(pilot, "escape")
        await until_it_says(pilot, "daily check")

    play(app_of(laboratory()), steps)


def test_only_the_open_jobs_where_that_is_wanted() -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "5", "daily check")
        await press(pilot, "o")
        await until(pilot, lambda: "… open" in text_of(pilot) and "passed" not in text_of(pilot))

    play(app_of(laboratory()), steps)


def test_older_jobs_follow_as_one_comes_near_the_end(tmp_path: Path) -> None:
    records = tmp_path / "records.sqlite"
    device = {"model": "virtual", "serial_number": "1", "coefficients": "none", "events": 0}
    with Journal(records) as journal:
        for n in range(3 * PAGE):
            body = {"procedure": "DailyCheck", "device": device, "circumstances": {"scale": f"S{n}", "by": "AB"}}
            journal.append("job.begun", f"job-{n}", body)

    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "5", f"S{3 * PAGE - 1} ")
        for listed in (PAGE, 2 * PAGE, 3 * PAGE):
            await until(pilot, lambda: len(pilot.app.screen.lines) >= listed)  # type: ignore[attr-defined]  # noqa: B023
            await press(pilot, "end")
        await until_it_says(pilot, " S0 ")

    play(app_of(records), steps)


def test_the_newest_jobs_come_first_and_the_next_ones_follow_on() -> None:
    """Older ones follow by the number of the entry that the last one began with."""
    with Journal(laboratory(), read_only=True) as journal:
        assert [job.state for job in newest_jobs(journal, n=3)] == [FIRST, SECOND, THIRD]
        older = newest_jobs(journal, newest_jobs(journal, n=3)[-1].seq, n=1)
    check = older[0]
    assert (check.what, check.scale, check.by, check.at[:10]) == ("daily check", "PLOVER", "TS", "2026-09-08")


def test_the_chain_is_proved_and_a_hash_that_was_kept_too() -> None:
    with Journal(laboratory(), read_only=True) as journal:
        head = journal.head()

    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "5", "daily check")
        await press(pilot, "v")
        await until_it_says(pilot, "Prove that no record was changed")
        await press(pilot, *"12", "enter")
        await until_it_says(pilot, "2 signs found; expected the 64 hexadecimal digits")
        retype(pilot, head.hash)
        await press(pilot, "enter")
        await until_it_says(pilot, f"It holds: {head.seq} entries")
        retype(pilot, head.hash[::-1])
        await press(pilot, "enter")
        await until_it_says(pilot, "It does NOT hold")

    play(app_of(laboratory()), steps)


def test_a_certificate_is_issued_once_and_written_as_often_as_wanted(tmp_path: Path) -> None:
    records = copy_to(tmp_path)

    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "5", "daily check")
        await press(pilot, "down", "down")
        await until_it_says(pilot, "c Certificate")
        await press(pilot, "c")
        await until_it_says(pilot, "Issue a certificate")
        out = tmp_path / "first.json"
        await press(pilot, "down", *"Estuary", "down", *"Owner", "down", *"room", "down", *"ts", "down")
        retype(pilot, str(out))
        await press(pilot, "enter")
        await until_it_says(pilot, "Certificate 2026-0001 is written")
        assert json.loads(out.read_text())["number"] == "2026-0001"
        await press(pilot, "c")
        await until_it_says(pilot, "Write certificate 2026-0001")

    play(app_of(records), steps)


def test_an_open_job_goes_on_with_its_scale_where_it_stood(tmp_path: Path) -> None:
    records = copy_to(tmp_path)
    app = BenchApp(Bench(records, today=lambda: TODAY), "virtual://WGN-0007?speed=1&seed=5")

    async def steps(pilot: "Pilot[None]") -> None:
        await until(pilot, lambda: app.bench.is_live)
        await open_screen(pilot, "5", "daily check")
        await press(pilot, "o")
        await until_it_says(pilot, "r Go on")
        await press(pilot, "r")
        await until(pilot, lambda: app.bench.progress is not None and app.current_mode == "calibrate")
        assert app.bench.progress is not None
        assert (app.bench.progress.job[:19], app.bench.progress.answered) == ("WIGEON:Calibration:", 12)

    play(app, steps)


@pytest.mark.parametrize("key, words", [("5", "Nothing is recorded here yet"), ("8", "so there is no history")])
def test_without_records_the_screen_says_what_to_do(tmp_path: Path, key: str, words: str) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, key, words)

    play(app_of(tmp_path / "records.sqlite"), steps)
    assert not (tmp_path / "records.sqlite").exists()
