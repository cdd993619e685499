"""What is particular to records on a PostgreSQL server: its guards, its indexes, and what its errors say."""

import re
from collections.abc import Callable
from typing import Any

import psycopg
import pytest
from sqlalchemy import Select, make_url

from scalewright.errors import InputError, RecordError
from scalewright.records import queries
from scalewright.records.journal import Addition, Journal


def filled(database: str, number: int = 4) -> str:
    with Journal(database) as journal:
        journal.append_all(Addition("observation", f"job-{i // 2}", {"counts": i}) for i in range(number))
    return database


def directly(database: str) -> "psycopg.Connection[Any]":
    """The database as somebody at its own console has it."""
    url = make_url(database)
    host, options = str(url.query["host"]), str(url.query["options"])
    return psycopg.connect(host=host, options=options, user="bench", dbname="bench", autocommit=True)


GUARDED = (
    "UPDATE journal SET entry = '' WHERE seq = 2",
    "DELETE FROM journal WHERE seq = 4",
    "TRUNCATE journal",
    "INSERT INTO journal SELECT 0, entry, hash FROM journal WHERE seq = 1",
    "INSERT INTO journal SELECT seq, '', hash FROM journal ON CONFLICT (seq) DO UPDATE SET entry = ''",
    "UPDATE run SET job = ''",
    "DELETE FROM run",
    "TRUNCATE run",
)


def test_the_database_itself_refuses_every_change_but_adding_at_the_end(database: str) -> None:
    with directly(filled(database)) as connection:
        for statement in GUARDED:
            with pytest.raises(psycopg.errors.RestrictViolation, match="append-only"):
                connection.execute(statement)
    with Journal(database, read_only=True) as journal:
        assert journal.verify().entries == 4


UNGUARDED = "SET session_replication_role = replica"  # triggers off, as the owner of the server can


@pytest.mark.parametrize(
    ("statement", "seq", "reason"),
    [
        ("UPDATE journal SET entry = set_byte(entry, 60, get_byte(entry, 60) # 1) WHERE seq = 2", 2, "changed"),
        ("UPDATE journal SET hash = set_byte(hash, 31, get_byte(hash, 31) # 1) WHERE seq = 4", 4, "changed"),
        ("DELETE FROM journal WHERE seq = 2", 2, "missing"),
        ("DELETE FROM journal WHERE seq = 1", 1, "missing"),
        ("UPDATE run SET job = '\"job-7\"' WHERE first = 3", 3, "misfiled"),
        ("DELETE FROM run WHERE first = 3", 3, "misfiled"),
        ("INSERT INTO run VALUES (99, '', '')", None, "misfiled"),
    ],
)
def test_what_gets_round_the_guards_is_found(database: str, statement: str, seq: int | None, reason: str) -> None:
    filled(database)
    with directly(database) as connection:
        connection.execute(UNGUARDED)
        connection.execute(statement)
    with Journal(database, read_only=True) as journal:
        found = journal.verify()
    assert (found.seq, found.reason) == (seq, reason)


def test_the_comparison_of_indexes_reads_each_of_them(database: str) -> None:
    read: list[str] = []
    with Journal(filled(database, 40)) as journal, journal.store.transaction() as connection:
        execute = connection.exec_driver_sql

        def explained(statement: str) -> Any:
            if statement.startswith("SELECT"):
                read.append(" ".join(row[0] for row in execute(f"EXPLAIN {statement}")))
            return execute(statement)

        connection.exec_driver_sql = explained  # type: ignore[method-assign, assignment]
        assert journal.store.complaint(connection) == ""
    by_index, bare = read[::2], read[1::2]
    assert [re.findall(r"Index(?: Only)? Scan using (\w+)", plan) for plan in by_index] == [
        ["journal_pkey"],
        ["run_pkey"],
        ["run_job"],
        ["run_kind"],
    ]
    assert all("Seq Scan on" in plan and "Index" not in plan for plan in bare)


def test_a_writer_waits_for_the_one_before_only_so_long(database: str) -> None:
    with Journal(filled(database)) as holder, Journal(database, timeout_s=0.05) as journal:
        with (
            holder.store.transaction(writes=True),
            pytest.raises(RecordError, match=r"/bench: another program is writing to it: .*\(wait until"),
        ):
            journal.append("observation", "job-1", {})
        assert journal.verify().entries == 4
        assert journal.append("observation", "job-1", {}).seq == 5


def test_what_is_opened_for_reading_cannot_be_written(database: str) -> None:
    with Journal(filled(database), read_only=True) as journal, pytest.raises(RecordError, match="read-only"):
        journal.append("observation", "job-1", {})
    with directly(database) as connection:
        connection.execute("ALTER DATABASE bench SET default_transaction_read_only = on")
        try:
            with Journal(database) as journal, pytest.raises(RecordError, match=r"it may not be written.*\(open it"):
                journal.append("observation", "job-1", {})
        finally:
            connection.execute("SET default_transaction_read_only = off")
            connection.execute("ALTER DATABASE bench RESET default_transaction_read_only")


def test_reading_where_there_are_no_records_is_bad_input_and_makes_none(database: str) -> None:
    with pytest.raises(InputError, match="/bench: there are no records"):
        Journal(database, read_only=True)
    with directly(database) as connection:
        assert connection.execute("SELECT to_regclass('journal')").fetchone() == (None,)


def without_schema(database: str) -> str:
    return re.sub(r"bench_\d+", "nowhere", database)


def without_database(database: str) -> str:
    return database.replace("@/bench?", "@/nothing?")


def without_server(database: str) -> str:
    return re.sub(r"host=[^&]*", "host=/nowhere", database)


def of_a_stranger(database: str) -> str:
    return database.replace("//bench@", "//stranger@")


@pytest.mark.parametrize(
    ("spoilt", "complaint"),
    [
        (without_schema, "there is no such schema: .*check search_path"),
        (without_database, "/nothing: the server cannot be reached: .*does not exist"),
        (without_server, "the server cannot be reached: .*check address, network and server"),
        (of_a_stranger, 'stranger@/bench: the server cannot be reached: .*role "stranger" does not exist'),
    ],
)
def test_what_cannot_be_opened_says_why(database: str, spoilt: Callable[[str], str], complaint: str) -> None:
    with pytest.raises(RecordError, match=complaint):
        Journal(spoilt(database), timeout_s=2)


def test_a_password_is_not_told(database: str) -> None:
    with pytest.raises(RecordError) as refusal:
        Journal("postgresql+psycopg://bench:secret@/bench?host=/nowhere", timeout_s=2)
    assert "secret" not in str(refusal.value)


def test_the_table_of_another_program_is_refused_and_left_as_it_is(database: str) -> None:
    with directly(database) as connection:
        connection.execute("CREATE TABLE journal (day TEXT)")
        with pytest.raises(RecordError, match="its table journal is of another program"):
            Journal(database)
        assert connection.execute("SELECT count(*) FROM journal").fetchone() == (0,)


def test_records_of_a_newer_version_are_refused(database: str) -> None:
    with directly(filled(database)) as connection:
        connection.execute("COMMENT ON TABLE journal IS 'Scalewright records, schema 3'")
    with pytest.raises(RecordError, match=r"it has schema 3, this Scalewright knows up to 2 \(use the newer"):
        Journal(database)


def test_a_connection_that_is_cut_loses_nothing_and_the_next_use_makes_another(database: str) -> None:
    with Journal(filled(database)) as journal:
        with directly(database) as connection:
            others = "FROM pg_stat_activity WHERE pid <> pg_backend_pid() AND datname = 'bench'"
            connection.execute(f"SELECT pg_terminate_backend(pid, 5000) {others}")
        with pytest.raises(RecordError, match=r"what was recorded before is safe"):
            journal.append("observation", "job-1", {})
        assert journal.append("observation", "job-1", {}).seq == 5
        assert journal.verify().entries == 5


def test_a_full_server_says_so_and_loses_nothing(database: str) -> None:
    with Journal(filled(database)) as journal:
        with directly(database) as connection:
            connection.execute(
                "CREATE FUNCTION full_disk() RETURNS trigger LANGUAGE plpgsql AS"
                " $$ BEGIN RAISE EXCEPTION 'could not extend file' USING ERRCODE = 'disk_full'; END $$"
            )
            connection.execute(
                "CREATE TRIGGER full_disk BEFORE INSERT ON run FOR EACH ROW EXECUTE FUNCTION full_disk()"
            )
            with pytest.raises(RecordError, match=r"the server has no room left: .*\(make room"):
                journal.append("observation", "job-9", {})
        assert journal.verify().entries == 4


def test_two_schemas_are_two_chains(database: str) -> None:
    filled(database)
    other = database.replace("bench_", "other_")
    with directly(database) as connection:
        connection.execute(re.search(r"other_\d+", other).group().join(["CREATE SCHEMA ", ""]))  # type: ignore[union-attr]
    with Journal(other) as journal:
        assert journal.append("observation", "job-1", {}).seq == 1


@pytest.mark.parametrize(
    "query",
    [
        queries.found("job-7", None),
        queries.found(None, "observation"),
        queries.newest(5, None, "obs.", None),
        queries.latest("observation"),
    ],
)
def test_entries_are_read_by_their_numbers_however_little_the_server_knows_of_them(
    database: str, query: "Select[Any]"
) -> None:
    with Journal(database) as journal:
        journal.append_all(Addition("observation", f"job-{i // 10}", {"counts": i}) for i in range(1000))
        with journal.store.transaction() as connection:
            statement = query.compile(connection, compile_kwargs={"literal_binds": True})
            plan = " ".join(row[0] for row in connection.exec_driver_sql(f"EXPLAIN {statement}"))
    assert re.search(r"Index Scan using journal_pkey on journal .*?Index Cond: \(\(?seq ", plan), plan
    assert "Join Filter" not in plan and "Seq Scan" not in plan
