"""Two slots: whatever happens to a write or to a file, the record in use is a whole one."""

import errno
import struct
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright_device.coefficient_store import CoefficientStore
from scalewright_device.two_slots import StorageError
from tests.firmware.parts import SLOT_BYTES, Folder, record

SLOTS = ("coefficients_a.bin", "coefficients_b.bin")
RECORDS = [record(number) for number in range(8)]


def a_store(folder):
    return CoefficientStore("", folder.open)


def a_folder(saves=0):
    """A folder in which RECORDS[0], RECORDS[1] … were saved one after the other."""
    folder = Folder()
    store = a_store(folder)
    for number in range(saves):
        store.save(RECORDS[number])
    return folder


def in_use(store):
    return store.sequence, store.data


def test_an_empty_folder_holds_no_coefficients():
    store = a_store(Folder())
    assert in_use(store) == (0, None)
    assert not store.is_damaged


def test_a_saved_record_is_in_use_at_once_and_after_a_start(tmp_path):
    store = CoefficientStore(f"{tmp_path}/")
    for number, data in enumerate(RECORDS, start=1):
        store.save(data)
        assert in_use(store) == (number, data)
        again = CoefficientStore(f"{tmp_path}/")
        assert in_use(again) == (number, data)
        assert not again.is_damaged
    assert sorted(path.name for path in tmp_path.iterdir()) == list(SLOTS)


def test_a_slot_is_the_sequence_number_the_record_and_the_crc_of_both():
    folder = a_folder(saves=2)
    for sequence, name in enumerate(SLOTS, start=1):
        body = struct.pack("<I", sequence) + RECORDS[sequence - 1]
        assert folder.files[name] == body + struct.pack("<I", zlib.crc32(body))  # CRC-32/ISO-HDLC, by zlib


def test_a_save_goes_to_the_older_slot():
    folder = a_folder(saves=2)
    before = dict(folder.files)
    a_store(folder).save(RECORDS[2])
    assert folder.files[SLOTS[1]] == before[SLOTS[1]]
    assert folder.files[SLOTS[0]] != before[SLOTS[0]]


@pytest.mark.parametrize("slot", [0, 1])
def test_any_changed_byte_in_a_slot_is_noticed(slot):
    """Every position and every other value; the record of the other slot is in use, and a save works again."""
    folder = a_folder(saves=2)
    whole = folder.files[SLOTS[slot]]
    other = (2 - slot, RECORDS[1 - slot])
    for position in range(SLOT_BYTES):
        for change in range(1, 256):
            damaged = bytearray(whole)
            damaged[position] ^= change
            folder.files[SLOTS[slot]] = bytes(damaged)
            store = a_store(folder)
            assert in_use(store) == other
            assert store.is_damaged


@pytest.mark.parametrize("slot", [0, 1])
def test_a_slot_cut_short_or_grown_is_noticed(slot):
    folder = a_folder(saves=2)
    whole = folder.files[SLOTS[slot]]
    for content in [whole[:length] for length in range(SLOT_BYTES)] + [whole + b"\0", whole + whole]:
        folder.files[SLOTS[slot]] = content
        store = a_store(folder)
        assert in_use(store) == (2 - slot, RECORDS[1 - slot])
        assert store.is_damaged


def test_a_damaged_slot_is_written_over_next():
    folder = a_folder(saves=2)
    folder.files[SLOTS[1]] = b"rubbish"
    a_store(folder).save(RECORDS[3])
    store = a_store(folder)
    assert in_use(store) == (2, RECORDS[3])
    assert not store.is_damaged


def test_both_slots_damaged_leave_no_coefficients_and_new_ones_can_be_stored():
    folder = a_folder(saves=2)
    folder.files = dict.fromkeys(SLOTS, b"\xff" * SLOT_BYTES)  # erased flash
    store = a_store(folder)
    assert in_use(store) == (0, None)
    assert store.is_damaged
    store.save(RECORDS[4])
    assert in_use(a_store(folder)) == (1, RECORDS[4])


@pytest.mark.parametrize("saves_before", range(4))
def test_a_write_that_dies_after_any_byte_leaves_the_old_record_or_the_new_one(saves_before):
    for bytes_left in range(SLOT_BYTES + 1):
        folder = a_folder(saves_before)
        store = a_store(folder)
        old, new = in_use(store), (saves_before + 1, RECORDS[7])
        folder.bytes_left = bytes_left
        with pytest.raises(OSError):
            store.save(RECORDS[7])
        folder.bytes_left = None
        assert in_use(store) == old
        assert in_use(a_store(folder)) == (new if bytes_left == SLOT_BYTES else old)  # at last only the close failed
        store.save(RECORDS[6])
        assert in_use(store) == in_use(a_store(folder)) == (saves_before + 1, RECORDS[6])


@pytest.mark.parametrize("saves_before", [1, 2])
def test_a_medium_that_forgets_what_was_written_is_noticed(saves_before):
    folder = a_folder(saves_before)

    class Forgetful(Folder):
        def open(self, name, mode):
            return Folder().open(name, mode) if mode == "wb" else folder.open(name, mode)

    store = a_store(Forgetful())
    with pytest.raises(StorageError):
        store.save(RECORDS[5])
    assert in_use(store) == (saves_before, RECORDS[saves_before - 1])


def test_a_slot_that_cannot_be_read_counts_as_damaged(tmp_path):
    (tmp_path / SLOTS[1]).mkdir()
    store = CoefficientStore(f"{tmp_path}/")
    assert store.is_damaged
    store.save(RECORDS[0])
    with pytest.raises(OSError) as caught:
        store.save(RECORDS[1])
    assert caught.value.errno == errno.EISDIR
    assert in_use(store) == (1, RECORDS[0])


@given(st.lists(st.one_of(st.none(), st.integers(0, SLOT_BYTES)), max_size=12))
def test_over_many_saves_and_cuts_no_confirmed_record_is_lost(cuts):
    """Each save is cut after so many bytes, or not at all; after each one the power goes."""
    folder = Folder()
    possible = {(0, None)}
    for number, bytes_left in enumerate(cuts):
        store = a_store(folder)
        assert in_use(store) in possible
        old, new = in_use(store), (store.sequence + 1, RECORDS[number % len(RECORDS)])
        folder.bytes_left = bytes_left
        try:
            store.save(new[1])
            possible = {new}
        except OSError:
            possible = {old, new}
        folder.bytes_left = None
    assert in_use(a_store(folder)) in possible
