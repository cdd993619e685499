"""The whole device on parts in memory: readings, who gets them, coefficients, and what nothing can do to it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_calc import link_frame
from shared_calc.reading import NO_DATA, parse_reading
from tests.firmware.parts import SLOT_BYTES, Bench, Folder, falling_record, record

SECOND_MS = 1000


def store(bench, data):
    assert bench.ask(f'CAL:DATA "{data.hex()}"') == []


@pytest.fixture
def bench():
    """A device with record(1): 1001 counts a gram, 0 g at -2000 counts, d = 0.1 g, Max 3000 g."""
    bench = Bench()
    store(bench, record(1))
    return bench


def reading(line):
    """Return the form of a line, "bare" or its frame's number, and of the reading: number, counts, indication, faults.

    Whether the load is at rest is for the tests of shared_calc.
    """
    form, text = link_frame.decode(line) if link_frame.MARK in line else ("bare", line)
    number, _, counts, indication_g, _, flags = text.split(",")
    return form, int(number), int(counts), indication_g, flags.replace("MOVING", "OK")


def sent(bench):
    """Return the readings that the device has sent since the last call."""
    return [reading(line) for line in bench.console.lines()]


def indication(bench, counts):
    """Return the indication and the faults that these counts give."""
    bench.convert(counts)
    return reading(bench.ask("FETC?")[0])[3:]


# Readings


@pytest.mark.parametrize(
    "counts, expected",
    [
        (-2000, ("0.0", "OK")),
        (98100, ("100.0", "OK")),
        (98100 + 50, ("100.0", "OK")),  # half a division is 50.05 counts
        (98100 + 51, ("100.1", "OK")),
        (-2000 - 51, ("-0.1", "OK")),
        (3001900, ("3000.9", "OK")),  # Max + 9 d
        (3002000, ("", "OVER_RANGE")),
        (8388606, ("", "OVER_RANGE")),
        (8388607, ("", "SATURATED")),
        (-8388608, ("", "SATURATED")),
    ],
)
def test_counts_become_an_indication_or_a_fault(bench, counts, expected):
    # counts = 1001 * grams - 2000, the line that record(1) was made from
    assert indication(bench, counts) == expected


def test_without_coefficients_there_are_counts_and_no_indication():
    bench = Bench()
    assert indication(bench, 98100) == ("", "UNCALIBRATED")
    assert parse_reading(bench.ask("FETC?")[0])[2] == 98100


def test_a_reading_carries_its_number_and_the_time_of_the_device(bench):
    bench.convert(98100, 98100, 98100)
    assert parse_reading(bench.ask("FETC?")[0])[:3] == (3, 300, 98100)


def test_a_silent_adc_hides_what_came_before_it(bench):
    assert indication(bench, 98100) == ("100.0", "OK")
    bench.clock.now_ms += SECOND_MS
    bench.run()
    assert bench.ask("FETC?") == ["2,1100,,,,NO_DATA"]
    assert bench.ask("*TST?") == [str(NO_DATA)]
    assert indication(bench, 98100) == ("100.0", "OK")


def test_a_reading_asked_of_a_silent_adc_is_answered_with_the_fault(bench):
    bench.ask("READ?")
    bench.clock.now_ms += SECOND_MS
    bench.run()
    assert bench.console.lines() == ["1,1000,,,,NO_DATA"]


def test_a_conversion_read_against_the_timing_limits_is_never_weighed(bench):
    bench.convert(98100)
    bench.ask("READ?")
    bench.convert(None)
    assert bench.console.lines() == ["2,200,,,,BAD_FRAME"]


# Who gets readings


def test_everybody_who_asked_gets_the_next_reading_in_the_form_he_asked_in(bench):
    bench.ask("READ?")
    bench.ask(link_frame.encode(7, "READ?"))
    bench.ask("READ?")
    assert bench.device.is_busy
    bench.convert(98100)
    assert sent(bench) == [(form, 1, 98100, "100.0", "OK") for form in ("bare", 7, "bare")]
    assert not bench.device.is_busy
    bench.convert(98100)
    assert bench.console.lines() == []


def test_a_repeated_read_is_answered_once_when_the_reading_comes_and_again_when_repeated_later(bench):
    for _ in range(3):
        assert bench.ask_framed(7, "READ?") == []
    bench.convert(98100)
    (answer,) = bench.console.lines()
    assert reading(answer) == (7, 1, 98100, "100.0", "OK")
    bench.convert(0)
    assert bench.ask(link_frame.encode(7, "READ?")) == [answer]


def test_more_readings_than_can_be_owed_are_refused(bench):
    answers = [bench.ask("READ?") for _ in range(10)]
    assert answers == [[]] * 8 + [['!-350,"Queue overflow; readings owed"']] * 2
    bench.convert(98100)
    assert len(bench.console.lines()) == 8
    assert bench.ask("READ?") == []


def test_a_new_conversation_is_not_given_what_the_one_before_asked_for(bench):
    bench.ask("READ?")
    assert bench.ask_framed(1, "READ?") == []  # a host asks, and ends
    assert bench.ask_framed(link_frame.RESYNCHRONISE, "*RST") == [(0, "")]
    bench.convert(98100)
    assert sent(bench) == [("bare", 1, 98100, "100.0", "OK")]  # only the person who typed without a frame
    assert bench.ask_framed(1, "READ?") == []
    bench.convert(98100)
    assert sent(bench) == [(1, 2, 98100, "100.0", "OK")]


@pytest.mark.parametrize("is_framed", [False, True])
def test_continuous_readings_are_framed_as_they_were_asked_for(bench, is_framed):
    command = "INIT:CONT ON"
    bench.ask(link_frame.encode(7, command) if is_framed else command)
    bench.ask("*IDN?" if is_framed else link_frame.encode(8, "*IDN?"))  # the other form in between changes nothing
    bench.convert(98100, 98100)
    form = None if is_framed else "bare"
    assert sent(bench) == [(form, number, 98100, "100.0", "OK") for number in (1, 2)]


@pytest.mark.parametrize("off", ["INIT:CONT OFF", "*RST"])
def test_continuous_readings_end_when_told(bench, off):
    bench.ask("INIT:CONT ON")
    bench.convert(98100)
    assert len(bench.console.lines()) == 1
    bench.ask(off)
    bench.convert(98100)
    assert bench.console.lines() == []
    assert not bench.device.is_busy


def test_readings_that_nobody_takes_leave_a_gap_in_their_numbers(bench):
    bench.ask("INIT:CONT ON")
    bench.convert(0)
    bench.console.is_taken = False
    bench.convert(0, 0)
    bench.console.is_taken = True
    bench.convert(0)
    assert [parse_reading(line)[0] for line in bench.console.lines()] == [1, 4]


# Coefficients


def test_new_coefficients_weigh_at_once_and_after_a_start(bench):
    bench.convert(98100)
    assert bench.ask("FETC?")[0].split(",")[3] == "100.0"
    store(bench, record(101))  # 1101 counts a gram: 100100 / 1101 = 90.917 g
    assert reading(bench.ask("FETC?")[0]) == ("bare", 1, 98100, "90.9", "OK")  # the latest counts, newly weighed
    assert indication(Bench(bench.folder), 98100) == ("90.9", "OK")


def test_coefficients_of_another_division_never_show_the_old_indication(bench):
    bench.convert(98100)
    store(bench, falling_record())  # 128 counts a division of 5 g, falling: -98100 / 128 = -766.4 d
    assert reading(bench.ask("FETC?")[0]) == ("bare", 1, 98100, "-3830", "OK")


@pytest.mark.parametrize("counts, expected", [(-76800, ("3000", "OK")), (-76800 - 128 * 10, ("", "OVER_RANGE"))])
def test_a_scale_whose_counts_fall_under_load_is_over_range_at_the_lower_end(counts, expected):
    bench = Bench()
    store(bench, falling_record())  # Max 600 d = 3000 g at -76800 counts
    assert indication(bench, counts) == expected


def test_a_save_that_fails_leaves_the_old_coefficients_in_use_and_stored(bench):
    bench.convert(98100)
    before = bench.state()
    bench.folder.bytes_left = 20
    (answer,) = bench.ask(f'CAL:DATA "{record(5).hex()}"')
    assert answer.startswith('!-250,"Mass storage error; ')
    assert bench.state() == before
    assert bench.ask("FETC?")[0].split(",")[3] == "100.0"
    bench.folder.bytes_left = None
    assert Bench(bench.folder).state() == before
    store(bench, record(5))


def test_a_damaged_slot_is_reported_at_the_start(bench):
    store(bench, record(2))
    assert Bench(bench.folder).ask("SYST:ERR?") == ['0,"No error"']
    bench.folder.files["coefficients_b.bin"] = b""
    again = Bench(bench.folder)
    assert again.ask("SYST:ERR?") == ['-230,"Data corrupt or stale; a coefficient slot is damaged"']
    assert again.state()[:2] == (record(1), 1)


def test_with_both_slots_damaged_the_device_answers_and_takes_new_coefficients(bench):
    store(bench, record(2))
    bench.folder.files.update(dict.fromkeys(("coefficients_a.bin", "coefficients_b.bin"), b"\xff" * SLOT_BYTES))
    again = Bench(bench.folder)
    assert "coefficients=none events=2" in again.ask("*IDN?")[0]
    assert indication(again, 98100) == ("", "UNCALIBRATED")
    store(again, record(1))
    assert indication(again, 98100) == ("100.0", "OK")


def test_a_record_of_another_version_is_kept_but_not_weighed_with():
    folder = Folder()
    bench = Bench(folder)
    bench.device.store.save(b"??" + record(1)[2:])  # whole as a slot, but no record of this firmware
    again = Bench(folder)
    assert again.ask("SYST:ERR?")[0].startswith('-230,"Data corrupt or stale; ')
    assert indication(again, 98100) == ("", "UNCALIBRATED")
    store(again, record(1))
    assert indication(again, 98100) == ("100.0", "OK")


# Whatever comes


def raise_memory_error(device, argument):
    raise MemoryError


def raise_fault(device, argument):
    return 1 // 0


def test_a_fault_in_one_command_is_an_error_and_the_device_goes_on():
    bench = Bench(commands=[("TEST:MEMory", raise_memory_error), ("TEST:FAULt", raise_fault)])
    assert bench.ask("TEST:MEM") == ['!-321,"Out of memory"']
    (answer,) = bench.ask("TEST:FAUL")
    assert answer.startswith('!-310,"System error; ZeroDivisionError')
    assert bench.ask("*OPC?") == ["1"]


def test_a_keyboard_interrupt_ends_the_loop():
    """Else a board could not be reached to copy new firmware to it."""

    def interrupt(device, argument):
        raise KeyboardInterrupt

    bench = Bench(commands=[("TEST:INTerrupt", interrupt)])
    bench.console.type(b"TEST:INT\n")
    with pytest.raises(KeyboardInterrupt):
        bench.device.run()


def test_the_loop_idles_only_where_nothing_is_waiting():
    idled = []

    def idle(is_busy):
        idled.append(bench.console.waiting())
        raise KeyboardInterrupt

    bench = Bench()
    bench.device.board.idle = idle
    bench.console.type(b"*IDN?\n" * 100)
    with pytest.raises(KeyboardInterrupt):
        bench.device.run()
    assert idled == [0]


noise = st.one_of(
    st.binary(max_size=300),
    st.sampled_from([b"*IDN", b"?", b":", b" ", b"~", b'"', b"\r", b"\n", b"CAL:DATA ", b"0" * 72]),
    st.sampled_from([b"SYST:ERR?\n", b"READ?\n", b"FETC?\n", b"INIT:CONT ON\n", b"*RST\n"]),
    st.integers(0, 3).map(lambda n: link_frame.encode(n, "READ?").encode() + b"\n"),
)
conversions = st.one_of(st.none(), st.integers(-8388608, 8388607))


@given(st.lists(st.one_of(noise, conversions), max_size=30))
def test_after_any_bytes_and_conversions_the_device_answers_and_keeps_its_coefficients(happenings):
    bench = Bench()
    store(bench, record(1))
    before = bench.device.store.data, bench.device.store.sequence
    for happening in happenings:
        if isinstance(happening, bytes):
            bench.console.type(happening)
            bench.run()
        else:
            bench.convert(happening)
    bench.console.type(b"\n")
    bench.run()
    bench.convert(0)
    identification = bench.ask("*IDN?")[-1]
    assert identification.startswith("Scalewright,bench,0001,")
    assert (bench.device.store.data, bench.device.store.sequence) == before
    assert bench.ask("FETC:COUN?") == ["0"]
    assert len(bench.device.errors) <= 8
