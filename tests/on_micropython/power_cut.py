"""Runs on MicroPython: a whole device on real file systems, stores coefficients while the medium fails.

Every function ends in an AssertionError where something does not hold, and returns figures where it does.
"""

import gc
import os

import vfs

from tests.firmware.parts import EVENT_BYTES, SLOT_BYTES, Bench, Folder, record
from tests.on_micropython.block_devices import FILE_SYSTEMS, formatted

SAVES = 48  # enough that littlefs compacts the block that holds files as small as these
SLOTS = ("/flash/coefficients_a.bin", "/flash/coefficients_b.bin")
_RECORDS = [record(number) for number in range(SAVES)]
_OTHER = record(100)


class Session:
    """A device that runs from a medium until it is switched off."""

    def __init__(self, file_system, medium):
        self._file_system = file_system
        self._medium = medium

    def __enter__(self):
        self._file_system.mount(self._medium, "/flash")
        return Bench(open_file=open, path="/flash/")

    def __exit__(self, kind, error, trace):
        vfs.umount("/flash")


def in_use(bench):
    return bench.device.store.sequence, bench.device.store.data


def events(bench):
    return bench.device.seal.log.count


def store(bench, data):
    """Return the lines that answer the command to store a record."""
    return bench.ask('CAL:DATA "%s"' % data.hex())


def is_refused(lines):
    return len(lines) == 1 and lines[0].startswith('!-250,"Mass storage error')


def answers(bench):
    return bench.ask("*OPC?") == ["1"]


def cut_at_every_operation(name, tear):
    """Cut the power at every write and erase of SAVES successive saves. Returns what the next starts found."""
    file_system = FILE_SYSTEMS[name]
    image = formatted(file_system)
    found = {"cut points": 0, "old": 0, "new": 0, "damaged slot": 0}
    old = (0, None)
    for number in range(SAVES):
        new = (number + 1, _RECORDS[number])
        operations = 0
        while True:
            medium = _save_and_cut(file_system, image, old, new, tear, operations)
            if not medium.is_dead():
                break
            _check_recovery(file_system, medium.image, old, new, found)
            operations += 1
        assert operations > 0
        image, old = bytes(medium.image), new
    return found


def _save_and_cut(file_system, image, old, new, tear, operations):
    """Return the medium after a save that may be cut after so many operations."""
    medium = file_system.device(image)
    medium.tear = tear
    with Session(file_system, medium) as bench:
        assert in_use(bench) == old
        assert events(bench) == old[0]
        medium.operations_left = operations
        answer = store(bench, new[1])
        assert answers(bench)
        assert in_use(bench) == (old if medium.is_dead() else new)
        assert is_refused(answer) if medium.is_dead() else answer == []
    return medium


def _check_recovery(file_system, image, old, new, found):
    """The old or the new record is in use, never anything else, and the next save holds."""
    medium = file_system.device(image)
    with Session(file_system, medium) as bench:
        first = in_use(bench)
        assert first in (old, new), (first, old, new)
        counted = events(bench)
        assert counted in (old[0], new[0]) and counted >= first[0]  # no change without its event, none counted twice
        assert answers(bench)
        found["cut points"] += 1
        found["old" if first == old else "new"] += 1
        found["damaged slot"] += bench.device.store.is_damaged
        assert store(bench, _OTHER) == []
    with Session(file_system, medium) as bench:
        assert in_use(bench) == (first[0] + 1, _OTHER)
        assert events(bench) == counted + 1
        assert not bench.device.store.is_damaged and not bench.device.seal.log.is_damaged


def fail_for_a_moment_at_every_operation(name):
    """A save fails, the next one holds: nothing that was left over from the first may come later."""
    file_system = FILE_SYSTEMS[name]
    operations = 0
    while True:
        medium = file_system.device(formatted(file_system))
        with Session(file_system, medium) as bench:
            for data in _RECORDS[:2]:
                assert store(bench, data) == []
            medium.operations_left = operations
            answer = store(bench, _OTHER)
            has_failed = medium.is_dead()
            assert is_refused(answer) if has_failed else answer == []
            medium.operations_left = None
            assert store(bench, _RECORDS[2]) == []
            stored = in_use(bench)
            _overwrite_the_stack(40)
            gc.collect()
        with Session(file_system, medium) as bench:
            assert in_use(bench) == stored
            assert not bench.device.store.is_damaged
        if not has_failed:
            return operations
        operations += 1


def _overwrite_the_stack(depth):
    """Leave no stray reference for the conservative garbage collector to find."""
    if depth:
        _overwrite_the_stack(depth - 1)


def fill_the_file_system(name):
    """Save on a full file system: refused, or stored and kept. Returns how many saves were refused."""
    file_system = FILE_SYSTEMS[name]
    medium = file_system.device(formatted(file_system))
    refused = 0
    with Session(file_system, medium) as bench:
        assert store(bench, _RECORDS[0]) == []
        _fill()
        for data in _RECORDS[1:5]:
            old = in_use(bench)
            answer = store(bench, data)
            assert answer == [] or is_refused(answer), answer
            assert in_use(bench) == ((old[0] + 1, data) if answer == [] else old)
            assert answers(bench)
            refused += len(answer)
        stored = in_use(bench)
    with Session(file_system, medium) as bench:
        assert in_use(bench) == stored
        for name in os.listdir("/flash"):
            if name.startswith("filler"):
                os.remove("/flash/" + name)
        assert store(bench, _OTHER) == []
    with Session(file_system, medium) as bench:
        assert in_use(bench) == (stored[0] + 1, _OTHER)
    return refused


def _fill():
    """Write files, large ones first, until not even one as small as a slot fits."""
    number = 0
    for size in (4096, 512, SLOT_BYTES):
        try:
            while True:
                with open("/flash/filler%d" % number, "wb") as file:
                    file.write(b"x" * size)
                number += 1
        except OSError:
            number += 1


def corrupt_both_slots(name):
    """Both slots hold rubbish: no indication, the device answers, and new coefficients can be stored."""
    file_system = FILE_SYSTEMS[name]
    medium = file_system.device(formatted(file_system))
    with Session(file_system, medium) as bench:
        for data in _RECORDS[:2]:
            assert store(bench, data) == []
    with Session(file_system, medium):
        for slot in SLOTS:
            with open(slot, "wb") as file:
                file.write(b"\xff" * SLOT_BYTES)
    with Session(file_system, medium) as bench:
        bench.convert(98100)
        assert bench.ask("FETC?")[0].split(",")[2:] == ["98100", "", "", "UNCALIBRATED"]
        assert bench.ask("CAL:DATA?") == ['!-230,"Data corrupt or stale; no coefficients stored"']
        assert "coefficients=none" in bench.ask("*IDN?")[0]
        assert store(bench, _RECORDS[1]) == []
        bench.convert(98100)
        assert bench.ask("FETC?")[0].split(",")[2:4] == ["98100", "100.0"]
    with Session(file_system, medium) as bench:
        assert in_use(bench) == (1, _RECORDS[1])


def change_every_byte(name):
    """Each byte of each slot file is changed in turn: the record of the other slot is in use. Returns how many."""
    file_system = FILE_SYSTEMS[name]
    medium = file_system.device(formatted(file_system))
    with Session(file_system, medium) as bench:
        for data in _RECORDS[:2]:
            assert store(bench, data) == []
        for k in range(2):
            with open(SLOTS[k], "rb") as file:
                whole = file.read()
            for position in range(SLOT_BYTES):
                damaged = bytearray(whole)
                damaged[position] ^= 1 << position % 8
                _write(SLOTS[k], damaged)
                again = Bench(open_file=open, path="/flash/")
                assert in_use(again) == (2 - k, _RECORDS[1 - k])
                assert again.ask("SYST:ERR?")[0].startswith("-230,")
            _write(SLOTS[k], whole)
    return 2 * SLOT_BYTES


def _write(name, content):
    with open(name, "wb") as file:
        file.write(content)


def cut_at_every_byte():
    """The file dies after every possible number of bytes, on the fake folder that CPython is tested with too."""
    for bytes_left in range(SLOT_BYTES + 1):
        folder = Folder()
        bench = Bench(folder)
        assert store(bench, _RECORDS[0]) == []
        folder.bytes_left = EVENT_BYTES + bytes_left
        assert is_refused(store(bench, _OTHER))
        folder.bytes_left = None
        assert in_use(bench) == (1, _RECORDS[0])
        assert in_use(Bench(folder)) == ((2, _OTHER) if bytes_left == SLOT_BYTES else (1, _RECORDS[0]))
    return SLOT_BYTES + 1
