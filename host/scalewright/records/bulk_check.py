"""Whether a whole chain holds, and every entry is found where reading looks for it: quick, and without a reason.

A yes here is a yes of `chain.verify`; where this says no, that one is asked which entry it is. Done in batches, because
hashing an entry takes less than a microsecond, and so does nearly everything that Python does to it besides.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from hashlib import sha256
from itertools import chain as one_after_another
from itertools import pairwise
from operator import itemgetter
from typing import Any

from scalewright.records import chain

BATCH = 100  # rows; they stay in the cache of the processor

Run = tuple[int, bytes]
"""first, and the bytes that every entry of its kind and job has after its time."""

_END = 10**18
_previous = itemgetter(slice(32))
_PLACE = 32 + len('[,"2031-05-04T12:00:00.000000Z"')


def verify(
    fetch: Callable[[int], Sequence[tuple[bytes, bytes]]], runs: Iterable[Run], expected_head: str | None
) -> chain.Verification | None:
    """Return the verification of a chain whose every entry holds and is filed rightly; None where one may not.

    `fetch` gives the next so many (hashed bytes, hash) in order, and at last none.
    """
    entries, last = 0, bytes(32)
    filed = _Filed(runs)
    has_head = expected_head in (None, chain.GENESIS)
    wanted = None if has_head or expected_head is None else bytes.fromhex(expected_head)
    while rows := fetch(BATCH):
        hashed, stored = zip(*rows, strict=True)
        digests = [sha256(entry).digest() for entry in hashed]
        if tuple(digests) != stored or list(map(_previous, hashed)) != [last, *digests[:-1]]:
            return None
        if not filed.holds(hashed, entries + 1):
            return None
        entries, last = entries + len(rows), digests[-1]
        has_head = has_head or wanted in digests
    return chain.ended(entries, last, has_head, expected_head)


class _Filed:
    """The runs, held against the entries as they come by."""

    def __init__(self, runs: Iterable[Run]) -> None:
        self._stretches = _stretches(runs)
        self._end, self._words, self._there = 0, b"", _previous

    def holds(self, entries: Sequence[bytes], first: int) -> bool:
        """Whether these entries, numbered from `first`, have the kind and the job of their run in them.

        That each has its number too, the chain says: whoever can forge a hash over a wrong one can forge the right one.
        """
        done = 0
        while done < len(entries):
            number = first + done
            if number >= self._end:
                self._end, self._words, self._there = next(self._stretches)
                if not entries[done].startswith(b"[%d," % number, 32):
                    return False
            stretch = entries[done : done + self._end - number]
            if list(map(self._there, stretch)).count(self._words) != len(stretch):
                return False
            done += len(stretch)
        return True


def _stretches(runs: Iterable[Run]) -> Iterator[tuple[int, bytes, "itemgetter[Any]"]]:
    """Yield where a run ends or numbers become longer, what stands in the entries before that, and where."""
    longer = 10
    for (first, words), (end, _) in pairwise(one_after_another(runs, [(_END, b"")])):
        while longer < end:
            if first < longer:
                yield longer, words, _there(longer, words)
                first = longer
            longer *= 10
        yield end, words, _there(longer, words)


def _there(longer: int, words: bytes) -> "itemgetter[Any]":
    place = _PLACE + len(str(longer - 1))
    return itemgetter(slice(place, place + len(words)))
