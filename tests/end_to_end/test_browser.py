"""The screens in a browser, by one command: a real Chromium without a network opens the bench and weighs."""

import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest

from scalewright.command_line.main import run
from tests.end_to_end.browser import ENTER, chromium, programs


def free_port() -> int:
    with closing(socket.create_server(("127.0.0.1", 0))) as server:
        return int(server.getsockname()[1])


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The command, in a process of its own; gives the address that it prints."""
    words = [sys.executable, "-m", "scalewright", "bench", "--browser", str(free_port())]
    records = ["--records", str(folder / "records.sqlite")]
    with subprocess.Popen([*words, *records], stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            where, caution = process.stdout.readline(), process.stdout.readline()
            assert caution.startswith("There is no login")
            yield where.split("  ")[0].removeprefix("The bench is on ")
        finally:
            process.terminate()


def test_a_person_opens_the_page_presses_enter_and_weighs(tmp_path: Path) -> None:
    programs()
    with served(tmp_path) as address, chromium(tmp_path / "profile") as page:
        page.open(address)
        page.until(lambda text: "Press Enter to try everything on the virtual scale" in text)
        before = page.screenshot()
        page.press(ENTER)
        page.until(lambda text: "● live" in text and "10 a second" in text and " counts" in text)
        assert page.screenshot() != before
        loaded = page.run("return performance.getEntriesByType('resource').map(entry => entry.name)")
        assert {name.startswith(address) for name in loaded} == {True}, loaded
        page.press("q")
        page.until(lambda _: bool(page.run("return document.body.classList.contains('-closed')")))


@pytest.mark.parametrize(
    ("path", "headers"),
    [
        ("/", {"Host": "elsewhere.example:80"}),  # a name that somebody let point here
        ("/ws", {"Origin": "http://elsewhere.example"}),  # another page in the same browser
        ("/ws", {}),
        ("/download/1", {"Origin": "null"}),
    ],
)
def test_what_does_not_come_from_the_page_itself_is_turned_away(
    bench_address: str, path: str, headers: dict[str, str]
) -> None:
    with pytest.raises(HTTPError, match="403"):
        urlopen(Request(bench_address + path, headers=headers), timeout=30)


@pytest.fixture(scope="module")
def bench_address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served(tmp_path_factory.mktemp("bench")) as address:
        yield address


def test_no_other_page_may_show_it_and_it_asks_nothing_of_another_computer(bench_address: str) -> None:
    with urlopen(bench_address, timeout=30) as answer:
        policy, page = answer.headers["Content-Security-Policy"], answer.read().decode()
    assert "frame-ancestors 'none'" in policy
    assert page.count("://") == page.count(bench_address.replace("http", "ws"))


def test_only_this_computer_can_reach_it(bench_address: str) -> None:
    port = int(bench_address.rsplit(":", 1)[1])
    for _, _, _, _, where in socket.getaddrinfo(socket.gethostname(), port, socket.AF_INET, socket.SOCK_STREAM):
        if not str(where[0]).startswith("127."):
            with pytest.raises(OSError):
                socket.create_connection((str(where[0]), port), timeout=5).close()


def test_a_port_that_is_taken_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    with closing(socket.create_server(("127.0.0.1", 0))) as server:
        assert run(["bench", "--browser", str(server.getsockname()[1])]) == 3
    assert "cannot be used" in capsys.readouterr().err
