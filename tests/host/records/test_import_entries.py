"""Entries of another journal: once, whole or not at all, and with what proves them."""

import json
from pathlib import Path
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings, strategies

from scalewright.errors import InputError, RecordError
from scalewright.records.export_file import export
from scalewright.records.import_entries import import_entries, original
from scalewright.records.journal import Addition, Entry, Journal
from scalewright.records.selection import Selection


def filled(path: Path, number: int = 6) -> Path:
    with Journal(path) as journal:
        journal.append_all(Addition("observation", f"job-{i // 3}", {"counts": i, "u_g": 1e-17}) for i in range(number))
    return path


def exported(records: str | Path, path: Path, **meant: str) -> Path:
    with Journal(records, read_only=True) as journal:
        export(journal, Selection(**meant), path)
    return path


def entries(records: str | Path) -> list[Entry]:
    with Journal(records, read_only=True) as journal:
        assert journal.verify().holds
        return list(journal.entries())


def test_imported_entries_keep_what_they_were(address: str, tmp_path: Path) -> None:
    here = filled(tmp_path / "here.sqlite")
    with Journal(address) as journal:
        journal.append("observation", "job-9", {})
        assert import_entries(journal, exported(here, tmp_path / "x.jsonl")) == (6, 0)
        assert journal.verify().entries == 7
    theirs = entries(address)
    assert [original(entry) for entry in theirs] == [None, *entries(here)]
    assert [(e.kind, e.job, e.at) for e in theirs[1:]] == [(e.kind, e.job, e.at) for e in entries(here)]


def test_importing_again_or_more_of_the_same_adds_only_what_is_new(address: str, tmp_path: Path) -> None:
    here = filled(tmp_path / "here.sqlite")
    with Journal(address) as journal:
        assert import_entries(journal, exported(here, tmp_path / "1.jsonl", job="job-0")) == (3, 0)
        assert import_entries(journal, tmp_path / "1.jsonl") == (0, 3)
        filled(here, 1)
        assert import_entries(journal, exported(here, tmp_path / "2.jsonl")) == (4, 3)


def test_what_comes_home_by_way_of_others_is_known(tmp_path: Path) -> None:
    here, there, third = (tmp_path / f"{name}.sqlite" for name in ("here", "there", "third"))
    file = exported(filled(here), tmp_path / "1.jsonl")
    for number, records in enumerate((there, third, here), 2):
        with Journal(records) as journal:
            assert import_entries(journal, file) == ((0, 6) if records == here else (6, 0))
        file = exported(records, tmp_path / f"{number}.jsonl")
    middle = [original(entry) for entry in entries(third)]
    assert middle == entries(there)
    assert [original(entry) for entry in middle if entry] == entries(here)


def test_a_file_that_does_not_prove_itself_adds_nothing(tmp_path: Path) -> None:
    file = exported(filled(tmp_path / "here.sqlite"), tmp_path / "x.jsonl")
    file.write_bytes(file.read_bytes().replace(b'"counts":5', b'"counts":4'))
    with Journal(tmp_path / "there.sqlite") as journal:
        with pytest.raises(InputError, match="entry 6 was changed"):
            import_entries(journal, file)
        assert journal.head().seq == 0


def test_a_changed_import_does_not_give_its_old_hash_again(tmp_path: Path) -> None:
    with Journal(tmp_path / "there.sqlite") as journal:
        import_entries(journal, exported(filled(tmp_path / "here.sqlite"), tmp_path / "x.jsonl"))
        entry = next(journal.entries())
        forged = journal.append(entry.kind, entry.job, entry.body | {"counts": 7})
        with pytest.raises(RecordError, match="entry 7 is not what entry 1 was in the journal it comes from"):
            original(forged)


BODIES = strategies.dictionaries(
    strategies.sampled_from(["origin", "u_g", "n"]),
    strategies.floats(allow_nan=False, allow_infinity=False) | strategies.integers() | strategies.text(),
)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(strategies.lists(BODIES, max_size=3))
def test_any_body_comes_back_as_it_was(tmp_path: Path, bodies: list[dict[str, object]]) -> None:
    name = uuid4()
    with Journal(tmp_path / "here.sqlite") as here, Journal(tmp_path / "there.sqlite") as there:
        own = here.append_all(Addition("observation", str(name), body) for body in bodies)
        file = exported(tmp_path / "here.sqlite", tmp_path / f"{name}.jsonl", job=str(name))
        assert import_entries(there, file) == (len(bodies), 0)
        imported = list(there.entries(job=str(name)))
        assert [original(entry) for entry in imported] == own
        assert [json.loads(e.body_json)["origin"]["seq"] for e in imported] == [e.seq for e in own]
