"""The event counter: whatever happens to a write or a file, it never goes back and no number comes twice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright_device.event_log import ACCEPTED, EVENTS_KEPT, REASONS, REJECTED, REMARK_CHARACTERS, EventLog
from shared_calc import coefficient_record
from tests.firmware.parts import EVENT_BYTES, Folder, record

SLOTS = ("events_a.bin", "events_b.bin")
IF_LOST = 1


def a_log(folder, first=0):
    return EventLog("", folder.open, first, IF_LOST)


def add(log, number, state=0):
    log.add(number * 10, REJECTED, None, None, state, f"remark {number}")


def a_folder(events):
    folder = Folder()
    log = a_log(folder)
    for number in range(1, events + 1):
        add(log, number)
    return folder


def test_an_event_is_there_with_its_number_time_reason_and_coefficients_after_a_start():
    folder = Folder()
    log = a_log(folder)
    log.add(7, ACCEPTED, None, record(1), 5, "x" * REMARK_CHARACTERS)
    log.add(4_000_000_000, REJECTED, record(1), record(2), 2, "")
    again = a_log(folder)
    first, second = (coefficient_record.identity(record(number)) for number in (1, 2))
    assert again.events() == log.events() == [(2, 4_000_000_000, "REJECTED", first, second),
                                              (1, 7, "ACCEPTED", "none", first)]
    assert (again.count, again.state, again.remark, again.is_damaged) == (2, 2, "", False)


def test_the_last_events_are_kept_and_all_are_counted():
    log = a_log(a_folder(40))
    assert log.count == 40
    assert [event[0] for event in log.events()] == list(range(40, 40 - EVENTS_KEPT, -1))
    assert log.remark == "remark 40"
    assert len(REASONS) == len(set(REASONS))


@pytest.mark.parametrize("events_before", range(4))
def test_a_power_cut_at_any_byte_leaves_the_old_number_or_the_new_one_and_it_is_not_used_again(events_before):
    for bytes_left in range(EVENT_BYTES + 1):
        folder = a_folder(events_before)
        folder.bytes_left = bytes_left
        with pytest.raises(OSError):
            add(a_log(folder), events_before + 1)
        folder.bytes_left = None
        after = a_log(folder)
        assert after.count in (events_before, events_before + 1)
        assert a_log(folder).count == after.count
        add(after, 99)
        assert after.count == a_log(folder).count > events_before
        numbers = [event[0] for event in a_log(folder).events()]
        assert len(set(numbers)) == len(numbers)


@pytest.mark.parametrize("slot", [0, 1])
def test_a_slot_that_decays_never_turns_the_counter_back(slot):
    """Every byte of it, in turn."""
    folder = a_folder(8)
    whole = folder.files[SLOTS[slot]]
    for position in range(EVENT_BYTES):
        folder.files[SLOTS[slot]] = whole[:position] + bytes([whole[position] ^ 0x55]) + whole[position + 1 :]
        log = a_log(folder)
        assert log.is_damaged and log.count in (8, 9)
    add(log, 9)
    assert a_log(folder).count == log.count > 8


def test_with_both_slots_lost_the_counter_goes_on_from_what_the_coefficients_say_in_the_state_for_that():
    folder = a_folder(8)
    folder.files = dict.fromkeys(SLOTS, b"\xff" * EVENT_BYTES)
    log = a_log(folder, first=5)
    assert (log.count, log.state, log.events()) == (5, IF_LOST, [])
    assert a_log(Folder()).state == 0  # nothing was ever there


happenings = st.lists(st.one_of(st.none(), st.integers(0, EVENT_BYTES), st.just("start")), max_size=20)


@given(happenings)
def test_over_many_events_failures_and_starts_every_number_confirmed_or_shown_is_greater_than_those_before(happenings):
    folder = Folder()
    log = a_log(folder)
    shown = 0
    for happening in happenings:
        if happening == "start":
            log = a_log(folder)
            assert log.count >= shown
        else:
            folder.bytes_left = happening
            try:
                add(log, 1)
                assert log.count > shown
            except OSError:
                assert log.count == shown
            folder.bytes_left = None
        shown = log.count
