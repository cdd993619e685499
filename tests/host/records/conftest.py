"""A PostgreSQL server of our own, started where a test needs one, and the two stores that a journal can be in."""

import os
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest

REQUIRED = os.environ.get("SCALEWRIGHT_REQUIRE_RUNTIMES") == "1"
QUICK = ("fsync=off", "full_page_writes=off", "shared_buffers=16MB", "max_connections=20", "listen_addresses=")


def programs() -> Path | None:
    """The folder with PostgreSQL's programs; Debian keeps the server's out of PATH."""
    found = [path.parent for path in sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))]
    in_path = shutil.which("initdb")
    return found[-1] if found else Path(in_path).parent if in_path else None


def other_user() -> dict[str, Any]:
    """Who the server runs as: it refuses to be root."""
    if os.geteuid() != 0:
        return {}
    import pwd

    account = pwd.getpwnam("nobody")
    return {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": []}


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """The folder of the socket of a running server, whose user `bench` owns its database `bench`."""
    folder = programs()
    if folder is None:
        (pytest.fail if REQUIRED else pytest.skip)("no PostgreSQL server is installed: initdb was not found")
    options, user = [], other_user()
    for option in QUICK:
        options += ["-c", option]
    with tempfile.TemporaryDirectory(prefix="pg") as place:  # short: the path of a socket is limited to 107 bytes
        if user:
            os.chown(place, user["user"], user["group"])
        quiet = {"cwd": place, "stdout": subprocess.DEVNULL, **user}
        data = f"{place}/data"
        make = [folder / "initdb", "--no-sync", "-A", "trust", "-U", "bench", "-E", "UTF8", "--locale=C", "-D", data]
        subprocess.run(make, check=True, **quiet)
        command = [folder / "postgres", "-D", data, "-k", place, *options]
        process = subprocess.Popen(command, stderr=subprocess.DEVNULL, **quiet)
        try:
            wait = [folder / "pg_isready", "-h", place, "-t", "30", "-q"]
            while subprocess.run(wait, check=False).returncode != 0 and process.poll() is None:
                pass
            subprocess.run([folder / "createdb", "-h", place, "-U", "bench", "bench"], check=True)
            yield place
        finally:
            process.send_signal(signal.SIGQUIT)  # at once: what it holds is thrown away
            process.wait()


_schemas = count(1)


@pytest.fixture
def database(server: str) -> str:
    """The address of an empty place for records on the server."""
    import psycopg

    name = f"bench_{next(_schemas)}"
    with psycopg.connect(host=server, user="bench", dbname="bench") as connection:
        connection.execute(f"CREATE SCHEMA {name}")
    return f"postgresql+psycopg://bench@/bench?host={server}&options=-csearch_path%3D{name}"


@pytest.fixture(params=["file", "server"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a journal may be: what holds for one store holds for the other."""
    if request.param == "server":
        return str(request.getfixturevalue("database"))
    return str(tmp_path / "bench 7#ü.sqlite")  # a name that would be something else in a URL
