"""Whether a whole chain holds, and every entry is found where reading looks for it: quick, and without a reason.

Where this says yes, so does `chain.verify`; where it says no, that one is asked which entry it is. Done in batches, for
hashing an entry takes less than a microsecond, and so does nearly everything that Python does to it besides.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from hashlib import sha256
from itertools import chain as one_after_another
from itertools import pairwise, repeat
from operator import itemgetter

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
    words = _words(runs)
    has_head = expected_head in (None, chain.GENESIS)
    wanted = None if has_head or expected_head is None else bytes.fromhex(expected_head)
    while rows := fetch(BATCH):
        hashed, stored = zip(*rows, strict=True)
        digests = [sha256(entry).digest() for entry in hashed]
        if tuple(digests) != stored or list(map(_previous, hashed)) != [last, *digests[:-1]]:
            return None
        if not _is_filed(hashed, entries + 1, words):
            return None
        entries, last = entries + len(rows), digests[-1]
        has_head = has_head or wanted in digests
    return chain.ended(entries, last, has_head, expected_head)


def _is_filed(entries: Sequence[bytes], first: int, words: Iterator[bytes]) -> bool:
    """Whether these entries, numbered from `first`, have the kind and the job of their run in them.

    That each has its number too, the chain says: whoever can forge a hash over a wrong one can forge the right one.
    """
    shortest, longest = len(str(first)), len(str(first + len(entries) - 1))
    if shortest == longest:
        places: Iterable[int] = repeat(_PLACE + shortest)
    else:
        places = [_PLACE + len(str(number)) for number in range(first, first + len(entries))]
    right = list(map(bytes.startswith, entries, words, places)).count(True)
    return right == len(entries) and entries[0].startswith(b"[%d," % first, 32)


def _words(runs: Iterable[Run]) -> Iterator[bytes]:
    """Return what each entry has after its time, in order."""
    pairs = pairwise(one_after_another(runs, [(_END, b"")]))
    return one_after_another.from_iterable(repeat(words, end - first) for (first, words), (end, _) in pairs)
