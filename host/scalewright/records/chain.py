"""The hash chain: what the hash of an entry is taken over, and which entry of a chain is the first that does not hold.

hash = SHA-256 (FIPS 180-4) over the 32 bytes of the previous hash followed by the UTF-8 text of [seq,at,kind,job,body].
These very bytes are what is stored, so a change that a JSON parser would pass over is found too.
"""

import json
import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from hashlib import sha256
from typing import NamedTuple

from scalewright.errors import DamageError, RecordError

GENESIS = "0" * 64
"""The hash that the first entry links to, in hexadecimal: 32 zero bytes."""

Row = tuple[int, bytes, bytes]
"""seq, the hashed bytes, the hash."""

_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")).encode
_STRING = rb'("[^"\\]*+(?:\\.[^"\\]*+)*+")'
_TEXT = re.compile(rb"\[([1-9]\d{0,18})," + b",".join([_STRING] * 3) + rb",(.*)\]", re.DOTALL)


@dataclass(frozen=True)
class Verification:
    """Whether a chain holds, and if not, where it breaks first."""

    entries: int
    """How many entries, counted from the first, are linked without a break."""
    head: str
    """The hash of the last of them; GENESIS where there is none."""
    seq: int | None = None
    """The first entry that does not hold; None where each holds, even if something else does not."""
    reason: str = ""
    """"changed", "missing", "swapped", "inserted", "unreadable", "rewritten" or "misfiled"; empty where all holds."""
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


class Content(NamedTuple):
    """What an entry says, besides its number."""

    at: str
    kind: str
    job: str
    body: str
    """canonical JSON"""


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


def link(previous: bytes, seq: int, content: Content) -> Row:
    """Return the next entry of the chain whose last hash is `previous`."""
    at, kind, job, body = content
    text = f"[{seq},{_encode(at)},{_encode(kind)},{_encode(job)}," + body + "]"
    hashed = previous + text.encode(errors="surrogateescape")
    return seq, hashed, sha256(hashed).digest()


def digest(previous: str, seq: int, at: str, kind: str, job: str, body: str) -> str:
    """Return the hash of one entry; `previous` and the result are hexadecimal."""
    return link(bytes.fromhex(previous), seq, Content(at, kind, job, body))[2].hex()


def content(hashed: bytes) -> Content:
    """Return what an entry says; where its bytes are damaged beyond recognition, all of it as its body."""
    match = _TEXT.fullmatch(hashed, 32)
    if match is None:
        return Content("", "", "", _text(hashed[32:]))
    at, kind, job, body = map(_text, match.groups()[1:])
    return Content(unquoted(at), unquoted(kind), unquoted(job), body)


def filed_under(hashed: bytes) -> tuple[str, str]:
    """Return kind and job as they stand in the hashed bytes, JSON strings; empty where these are damaged."""
    match = _TEXT.fullmatch(hashed, 32)
    return (_text(match[3]), _text(match[4])) if match else ("", "")


def quoted(text: str) -> str:
    """Return a kind or a job as it stands in the hashed bytes."""
    return _encode(text)


def unquoted(text: str) -> str:
    """Return the kind or job that stands so in the hashed bytes."""
    if "\\" not in text:
        return text[1:-1]
    try:
        return str(json.loads(text))
    except ValueError:  # damaged
        return text


def verify(read: Callable[[], Iterable[Row]], expected_head: str | None = None) -> Verification:
    """Return whether the chain holds; `read` gives its rows in order of seq, and is called again to name a fault.

    A chain proves what lies before a hash somebody kept, so a tail rewritten with all its hashes, or cut off, is only
    found by `expected_head`: a hash printed earlier, which must be that of some entry.
    """
    seq, previous, has_head = 0, bytes(32), expected_head in (None, GENESIS)
    try:
        for row in read():
            if not _was_written_as(row, seq + 1, previous):
                return Verification(seq, previous.hex(), *_fault(row, seq + 1, previous, read))
            seq, previous = row[0], row[2]
            has_head = has_head or previous.hex() == expected_head
    except DamageError as error:
        return Verification(seq, previous.hex(), seq + 1, "unreadable", f"entry {seq + 1} cannot be read: {error}")
    return ended(seq, previous, has_head, expected_head)


def ended(entries: int, last: bytes, has_head: bool, expected_head: str | None) -> Verification:
    """Return the verification of a chain whose every entry holds."""
    if has_head:
        return Verification(entries, last.hex())
    detail = f"no entry has the expected hash {expected_head}: the end of the chain was rewritten or cut off"
    return Verification(entries, last.hex(), None, "rewritten", detail)


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


def _text(data: bytes) -> str:
    return data.decode(errors="surrogateescape")


def _was_written_as(row: Row, seq: int, previous: bytes) -> bool:
    """Whether this is, byte for byte, what was written as entry `seq` after the entry whose hash is `previous`."""
    stored_seq, hashed, stored_hash = row
    return (
        stored_seq == seq
        and isinstance(hashed, bytes)  # a damaged file can hold any type in any column
        and hashed.startswith(b"%b[%d," % (previous, seq))
        and sha256(hashed).digest() == stored_hash
    )


def _fault(row: Row, seq: int, previous: bytes, read: Callable[[], Iterable[Row]]) -> tuple[int, str, str]:
    """Return the first entry that does not hold, why, and that as a sentence, where `row` stands in place of `seq`.

    Hashes tell where a row comes from: the entry missed here is the one that fits here, wherever it stands now (its
    `place`), and a row with the right hash tells the number it was written under (its `origin`).
    """
    if row[0] != seq:
        fault, reason = (seq, "missing") if row[0] > seq else (row[0], "inserted")
        return fault, reason, _sentence(fault, reason)
    place, is_copy = None, False
    for other in read():
        is_copy = is_copy or (other[0] != row[0] and other[2] == row[2])
        if _was_written_as((seq, *other[1:]), seq, previous):
            place = other[0]
    fault, reason = _judge(seq, place, _origin(row), is_copy)
    return fault, reason, _sentence(fault, reason) + (f" with entry {place}" if reason == "swapped" else "")


def _origin(row: Row) -> int | None:
    _, hashed, stored_hash = row
    if not isinstance(hashed, bytes) or sha256(hashed).digest() != stored_hash:
        return None
    match = _TEXT.fullmatch(hashed, 32)
    return int(match[1]) if match else None


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
