"""Hashes against published values and another program; the naming of faults on chains in memory."""

import hashlib
import json
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings, strategies

from scalewright.errors import DamageError, RecordError
from scalewright.records.chain import GENESIS, Content, Row, canonical, content, digest, link, verify

JSON_VALUES = strategies.recursive(
    strategies.none()
    | strategies.booleans()
    | strategies.integers()
    | strategies.floats(allow_nan=False, allow_infinity=False)
    | strategies.text(),
    lambda values: strategies.lists(values) | strategies.dictionaries(strategies.text(), values),
    max_leaves=5,
)
BODIES = strategies.dictionaries(strategies.text(), JSON_VALUES)


def a_chain(length: int, first: int = 1, previous: bytes = bytes(32), job: str = "bench-7") -> list[Row]:
    rows: list[Row] = []
    for seq in range(first, first + length):
        said = Content("2031-05-04T12:00:00.000000Z", "observation", job, canonical({"counts": 1000 + seq}))
        rows.append(link(previous, seq, said))
        previous = rows[-1][2]
    return rows


@pytest.mark.parametrize(
    ("message", "expected"),
    [
        # FIPS 180-4 points to NIST's examples for SHA-256: one block and two blocks; also FIPS 180-2, B.1 and B.2.
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),  # FIPS 180-2, B.3
    ],
)
def test_the_hash_is_the_sha_256_of_the_standard(message: bytes, expected: str) -> None:
    assert hashlib.sha256(message).hexdigest() == expected


def test_a_first_entry_has_the_hash_that_another_program_finds() -> None:
    # { head -c 32 /dev/zero; printf '%s' '[1,"2031-05-04T12:00:00.000000Z","observation","bench-7",{"counts":8388607,
    #   "load_g":"100.00","note":"Grüße","steps":[1.5,null,true]}]'; } | sha256sum   (GNU coreutils 9.1; one line)
    body = canonical({"steps": (1.5, None, True), "note": "Grüße", "load_g": "100.00", "counts": 8388607})
    found = digest(GENESIS, 1, "2031-05-04T12:00:00.000000Z", "observation", "bench-7", body)
    assert found == "c4fe7816cc8fd4bd73946332ae85b5d0332d8005194fabbc09a5ec6aba2439e0"


@settings(max_examples=25, deadline=None)
@given(BODIES)
def test_a_body_has_one_text_whatever_the_order_of_its_fields_and_comes_back_from_it(body: dict[str, object]) -> None:
    text = canonical(body)
    assert json.loads(text) == body
    assert canonical(dict(reversed(body.items()))) == text


CIRCULAR: dict[str, object] = {}
CIRCULAR["itself"] = CIRCULAR


@pytest.mark.parametrize(
    ("body", "complaint"),
    [
        ({"load_g": Decimal("1.5")}, "body.load_g: Decimal('1.5') is neither text nor a number (give it as text)"),
        ({"points": [{"x": Fraction(1, 3)}]}, r"body.points[0].x: Fraction(1, 3) is neither text nor a number"),
        ({"raw": b"\x00"}, r"body.raw: b'\x00' is neither text nor a number"),
        ({"u_g": float("nan")}, "body.u_g: nan is not a finite number"),
        ({"u_g": [0.0, float("-inf")]}, "body.u_g[1]: -inf is not a finite number"),
        ({"counts": {1: "one"}}, "body.counts: the key 1 is not text"),
        ({"note": "\ud800"}, "body cannot be written as JSON: 'utf-8' codec can't encode character"),
        ({"\ud800": "note"}, "body cannot be written as JSON: 'utf-8' codec can't encode character"),
        ({"n": 10**5000}, "body cannot be written as JSON: Exceeds the limit"),
        (CIRCULAR, "body cannot be written as JSON: maximum recursion depth"),
    ],
)
def test_a_body_that_json_would_not_give_back_is_refused(body: dict[str, object], complaint: str) -> None:
    with pytest.raises(RecordError) as refusal:
        canonical(body)
    assert str(refusal.value).startswith(complaint)


def renumbered(rows: list[Row]) -> list[Row]:
    return [(seq, *row[1:]) for seq, row in enumerate(rows, 1)]


def with_body_and_hash(row: Row, body: str) -> Row:
    return link(row[1][:32], row[0], content(row[1])._replace(body=body))


def with_body(row: Row, body: str) -> Row:
    return (*with_body_and_hash(row, body)[:2], row[2])


ROWS = a_chain(9)
FOREIGN = a_chain(1, 5, ROWS[3][2], job="another")[0]
GARBAGE: Row = (5, b"", b"")


@pytest.mark.parametrize(
    ("tampered", "seq", "reason"),
    [
        ([*ROWS[:4], with_body(ROWS[4], "{}"), *ROWS[5:]], 5, "changed"),
        ([*ROWS[:8], with_body(ROWS[8], "{}")], 9, "changed"),
        ([*ROWS[:4], with_body_and_hash(ROWS[4], "{}"), *ROWS[5:]], 5, "changed"),
        ([*ROWS[:4], GARBAGE, *ROWS[5:]], 5, "changed"),
        (a_chain(9, previous=b"f" * 32), 1, "changed"),
        ([*ROWS[:4], *ROWS[5:]], 5, "missing"),
        (ROWS[1:], 1, "missing"),
        (renumbered([*ROWS[:4], *ROWS[5:]]), 5, "missing"),
        (renumbered([*ROWS[:4], *ROWS[7:]]), 5, "missing"),
        (renumbered([*ROWS[:4], ROWS[7], *ROWS[5:7], ROWS[4], ROWS[8]]), 5, "swapped"),
        (renumbered([*ROWS[:4], ROWS[5], ROWS[4], *ROWS[6:]]), 5, "swapped"),
        (renumbered([*ROWS[:4], FOREIGN, *ROWS[4:]]), 5, "inserted"),
        (renumbered([*ROWS[:4], GARBAGE, *ROWS[4:]]), 5, "inserted"),
        (renumbered([*ROWS[:4], ROWS[1], *ROWS[4:]]), 5, "inserted"),
        (renumbered([*ROWS[:4], ROWS[7], *ROWS[4:]]), 5, "inserted"),
        ([(0, *ROWS[0][1:]), *ROWS], 0, "inserted"),
        (renumbered([*ROWS, ROWS[8]]), 10, "inserted"),
    ],
)
def test_the_first_entry_that_does_not_hold_is_named_with_the_reason(
    tampered: list[Row], seq: int, reason: str
) -> None:
    found = verify(lambda: tampered)
    assert (found.holds, found.seq, found.reason) == (False, seq, reason)


def test_a_chain_that_holds_says_how_long_it_is_and_where_it_ends() -> None:
    found = verify(lambda: ROWS)
    assert (found.holds, found.entries, found.head, found.seq) == (True, 9, ROWS[8][2].hex(), None)
    assert str(found) == f"9 entries, the chain holds; its head is {ROWS[8][2].hex()}"


def test_an_empty_chain_holds() -> None:
    assert (verify(list).entries, verify(list, GENESIS).holds) == (0, True)


def test_a_swap_is_told_in_a_sentence() -> None:
    tampered = renumbered([ROWS[2], ROWS[1], ROWS[0]])
    assert str(verify(lambda: tampered)) == "the chain does not hold: entry 1 was swapped with entry 3"


@pytest.mark.parametrize("kept", range(9))
def test_a_head_noted_earlier_is_found_in_a_chain_that_has_grown(kept: int) -> None:
    assert verify(lambda: ROWS, ROWS[kept][2].hex()).holds


REWRITTEN = [*ROWS[:6], *a_chain(3, 7, ROWS[5][2], job="another")]


@pytest.mark.parametrize("tampered", [REWRITTEN, ROWS[:8], []])
def test_only_a_head_noted_earlier_proves_a_rewritten_or_cut_tail_wrong(tampered: list[Row]) -> None:
    assert verify(lambda: tampered).holds
    found = verify(lambda: tampered, ROWS[8][2].hex())
    assert (found.holds, found.seq, found.reason) == (False, None, "rewritten")


def test_an_entry_that_cannot_be_read_does_not_hold() -> None:
    def broken_off() -> list[Row]:
        raise DamageError("the disk could not be read")

    found = verify(broken_off)
    assert (found.seq, found.reason) == (1, "unreadable")
    assert found.detail == "entry 1 cannot be read: the disk could not be read"


@pytest.mark.parametrize("column", [1, 2])
@pytest.mark.parametrize("value", [None, 5, 2.5, b"bytes", "\udcff"])
def test_a_value_of_any_type_in_any_column_is_a_change(column: int, value: object) -> None:
    row: list[object] = list(ROWS[4])
    row[column] = value
    found = verify(lambda: [*ROWS[:4], tuple(row), *ROWS[5:]])  # type: ignore[list-item]
    assert (found.seq, found.reason) == (5, "changed")


NAMES = strategies.text(min_size=1).filter(str.isprintable)


@settings(max_examples=25, deadline=None)
@given(NAMES, NAMES, BODIES)
def test_an_entry_says_what_was_put_into_it(kind: str, job: str, body: dict[str, object]) -> None:
    said = Content("2031-05-04T12:00:00.000000Z", kind, job, canonical(body))
    assert content(link(bytes(32), 7, said)[1]) == said


@pytest.mark.parametrize("hashed", [b"", bytes(32) + b"[", bytes(32) + b'[1,"a","b"]', b"\xff" * 80])
def test_bytes_that_are_no_entry_are_shown_as_they_are(hashed: bytes) -> None:
    assert content(hashed) == ("", "", "", hashed[32:].decode(errors="surrogateescape"))
