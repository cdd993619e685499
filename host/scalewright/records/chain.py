"""The hash chain: what the hash of an entry is taken over, and which entry of a chain is the first that does not hold.

hash = SHA-256 (FIPS 180-4) over the 32 bytes of the previous hash followed by the UTF-8 text of [seq,at,kind,job,body].
The body goes in as the very text that is stored, so a change that a JSON parser would pass over is found too.
"""

import hashlib
import json
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from scalewright.errors import DamageError, RecordError

GENESIS = "0" * 64
"""The hash that the first entry links to, in hexadecimal: 32 zero bytes."""

Row = tuple[int, str, str, str, str, str, str]
"""seq, at, kind, job, body as canonical JSON, then the previous hash and the hash in lower-case hexadecimal."""

_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")).encode


@dataclass(frozen=True)
class Verification:
    """Whether a chain holds, and if not, where it breaks first."""

    entries: int
    """How many entries, counted from the first, are linked without a break."""
    head: str
    """The hash of the last of them; GENESIS where there is none."""
    seq: int | None = None
    """The first entry that does not hold; None where each holds, even if the expected head is not among them."""
    reason: str = ""
    """"changed", "missing", "swapped", "inserted", "unreadable" or "rewritten"; empty where the chain holds."""
    detail: str = ""
    """The reason as a sentence; empty where the chain holds."""

    @property
    def holds(self) -> bool:
        """Whether every entry is as it was written and the expected head is among them."""
        return not self.reason

    def __str__(self) -> str:
        if self.holds:
            return f"{self.entries} entries, the chain holds; its head is {self.head}"
        return f"the chain does not hold: {self.detail}"


def canonical(body: dict[str, object]) -> str:
    """Return the one JSON text of `body`: keys sorted by code point, no spaces, floats as their shortest exact text.

    Raises RecordError, naming the place, for what JSON would lose: NaN and infinities, Decimal, Fraction and other
    objects (give them as text), keys that are not text, text that is not Unicode.
    """
    try:
        _check(body, "body")
        return _encode(body)
    except (RecursionError, ValueError) as error:
        raise RecordError(f"body cannot be written as JSON: {error}") from error


def digest(previous: str, seq: int, at: str, kind: str, job: str, body: str) -> str:
    """Return the hash of one entry; `previous` and the result are hexadecimal."""
    text = f"[{seq},{_encode(at)},{_encode(kind)},{_encode(job)}," + body + "]"
    return hashlib.sha256(bytes.fromhex(previous) + text.encode(errors="surrogateescape")).hexdigest()


def verify(read: Callable[[], Iterable[Row]], expected_head: str | None = None) -> Verification:
    """Return whether the chain holds; `read` gives its rows in order of seq, and is called again to name a fault.

    A chain proves what lies before a hash somebody kept, so a tail rewritten with all its hashes, or cut off, is only
    found by `expected_head`: a hash printed earlier, which must be that of some entry.
    """
    seq, previous, has_head = 0, GENESIS, expected_head in (None, GENESIS)
    try:
        for row in read():
            if not _was_written_as(row, seq + 1, previous):
                return Verification(seq, previous, *_fault(row, seq + 1, previous, read))
            seq, previous = row[0], row[6]
            has_head = has_head or previous == expected_head
    except DamageError as error:
        return Verification(seq, previous, seq + 1, "unreadable", f"entry {seq + 1} cannot be read: {error}")
    if has_head:
        return Verification(seq, previous)
    detail = f"no entry has the expected hash {expected_head}: the end of the chain was rewritten or cut off"
    return Verification(seq, previous, None, "rewritten", detail)


def _check(value: object, where: str) -> None:
    if isinstance(value, dict):
        for key, inner in value.items():
            if not isinstance(key, str):
                raise RecordError(f"{where}: the key {key!r} is not text")
            _check(key, f"{where}: key {key!r}")
            _check(inner, f"{where}.{key}")
    elif isinstance(value, list | tuple):
        for index, inner in enumerate(value):
            _check(inner, f"{where}[{index}]")
    elif isinstance(value, str):
        value.encode()
    elif isinstance(value, float) and not math.isfinite(value):
        raise RecordError(f"{where}: {value} is not a finite number", "leave it out, or write why there is none")
    elif value is not None and not isinstance(value, int | float):
        raise RecordError(f"{where}: {value!r} is neither text nor a number", "give it as text")


def _was_written_as(row: Row, seq: int, previous: str) -> bool:
    """Whether this is, byte for byte, what was written as entry `seq` after the entry whose hash is `previous`."""
    stored_seq, at, kind, job, body, stored_previous, stored_hash = row
    try:
        return (
            stored_seq == seq
            and stored_previous == previous
            and stored_hash == digest(previous, seq, at, kind, job, body)
        )
    except (TypeError, ValueError):  # a damaged file can hold any type in any column, and no digits in a hash
        return False


def _fault(row: Row, seq: int, previous: str, read: Callable[[], Iterable[Row]]) -> tuple[int, str, str]:
    """Return the first entry that does not hold, why, and that as a sentence, where `row` stands in place of `seq`.

    Hashes tell where a row comes from: the entry missed here is the one that fits here, wherever it stands now (its
    `place`), and the number a row was written under (its `origin`) is the one that makes its hash right.
    """
    if row[0] != seq:
        fault, reason = (seq, "missing") if row[0] > seq else (row[0], "inserted")
        return fault, reason, _sentence(fault, reason)
    place, is_copy, rows = None, False, 0
    for other in read():
        rows += 1
        is_copy = is_copy or (other[0] != row[0] and other[6] == row[6])
        if _was_written_as((seq, *other[1:]), seq, previous):
            place = other[0]
    # As many rows again may have been taken out, and the rest renumbered.
    origin = next((n for n in range(1, 2 * rows + 1) if _was_written_as((n, *row[1:]), n, row[5])), None)
    fault, reason = _judge(seq, place, origin, is_copy)
    return fault, reason, _sentence(fault, reason) + (f" with entry {place}" if reason == "swapped" else "")


def _judge(seq: int, place: int | None, origin: int | None, is_copy: bool) -> tuple[int, str]:
    if origin is not None and origin != seq and not is_copy:
        if origin < seq:
            return origin, "inserted"  # one with a hash that fits there; all that followed was moved up
        if place in (None, origin):
            return seq, "swapped" if place else "missing"
    if place is not None or is_copy:
        return seq, "inserted"
    if origin == seq > 1:
        return seq - 1, "changed"  # together with its hash, so only the next entry gives it away
    return seq, "changed"


def _sentence(seq: int, reason: str) -> str:
    return f"entry {seq} {'is' if reason == 'missing' else 'was'} {reason}"
