"""Numbered counts with their time, and what is made of an ADC that is silent or was read wrongly."""

from hypothesis import given
from hypothesis import strategies as st

from scalewright_device.sampler import Sampler
from shared_calc.reading import BAD_FRAME, NO_DATA
from tests.firmware.parts import TICKS, Adc, Clock


def a_sampler(settling_readings=0, start_ms=0):
    adc, clock = Adc(settling_readings), Clock(start_ms)
    return Sampler(adc, clock), adc, clock


def step_after(sampler, clock, milliseconds):
    clock.now_ms += milliseconds
    return sampler.step()


def test_before_the_first_conversion_there_is_no_data():
    sampler, _, _ = a_sampler()
    assert sampler.step() is False
    assert (sampler.number, sampler.flags) == (0, NO_DATA)


def test_each_conversion_gets_a_number_and_its_time():
    sampler, adc, clock = a_sampler()
    taken = []
    for counts in (5, -8388608, 8388607):
        adc.conversions.append(counts)
        assert step_after(sampler, clock, 100) is True
        taken.append((sampler.number, sampler.time_ms, sampler.counts, sampler.flags))
    assert taken == [(1, 100, 5, 0), (2, 200, -8388608, 0), (3, 300, 8388607, 0)]


def test_between_conversions_nothing_changes():
    sampler, adc, clock = a_sampler()
    adc.conversions.append(7)
    sampler.step()
    assert step_after(sampler, clock, 99) is False
    assert (sampler.number, sampler.counts, sampler.flags) == (1, 7, 0)


def test_the_settling_readings_are_discarded_at_the_start():
    # HX711: 4 conversions at either rate (datasheet, output settling time; number from memory).
    sampler, adc, clock = a_sampler(settling_readings=4)
    adc.conversions += [1, 2, 3, 4, 5]
    assert [step_after(sampler, clock, 100) for _ in range(5)] == [False] * 4 + [True]
    assert (sampler.number, sampler.counts, sampler.flags) == (1, 5, 0)


def test_a_conversion_read_against_the_timing_limits_is_flagged_and_settling_starts_again():
    sampler, adc, clock = a_sampler(settling_readings=2)
    adc.conversions += [1, 2, 3, None, 4, 5, 6]
    seen = [(step_after(sampler, clock, 100), sampler.flags, sampler.counts) for _ in range(7)]
    assert seen[2:] == [(True, 0, 3), (True, BAD_FRAME, 3), (False, BAD_FRAME, 3), (False, BAD_FRAME, 3), (True, 0, 6)]


def test_a_line_stuck_at_ready_is_reported_at_once_and_then_every_second():
    sampler, adc, clock = a_sampler(settling_readings=4)
    reports = []
    for _ in range(2500):
        adc.conversions.append(None)
        if step_after(sampler, clock, 1):
            reports.append((sampler.time_ms, sampler.number, sampler.flags))
    assert reports == [(1, 1, BAD_FRAME), (1001, 2, BAD_FRAME), (2001, 3, BAD_FRAME)]


def test_an_adc_that_never_settles_for_bad_frames_is_reported_every_second_too():
    sampler, adc, clock = a_sampler(settling_readings=4)
    reports = []
    for number in range(31):
        adc.conversions.append(None if number % 3 == 0 else 5)
        if step_after(sampler, clock, 100):
            reports.append((sampler.time_ms, sampler.flags))
    assert reports == [(100, BAD_FRAME), (1300, BAD_FRAME), (2500, BAD_FRAME)]


def test_a_silent_adc_is_reported_every_second():
    sampler, _, clock = a_sampler()
    reports = [(sampler.time_ms, sampler.number) for _ in range(350) if step_after(sampler, clock, 10)]
    assert reports == [(1000, 1), (2000, 2), (3000, 3)]
    assert sampler.flags == NO_DATA


def test_after_a_silence_the_adc_settles_before_it_is_believed():
    sampler, adc, clock = a_sampler(settling_readings=1)
    adc.conversions += [1, 2]
    assert [step_after(sampler, clock, 100) for _ in range(2)] == [False, True]
    assert step_after(sampler, clock, 1000) is True
    assert sampler.flags == NO_DATA
    adc.conversions += [3, 4]
    assert [(step_after(sampler, clock, 100), sampler.flags) for _ in range(2)] == [(False, NO_DATA), (True, 0)]
    assert sampler.counts == 4


def test_discarded_conversions_are_not_a_silence():
    sampler, adc, clock = a_sampler(settling_readings=20)
    for _ in range(20):
        adc.conversions.append(1)
        assert step_after(sampler, clock, 50) is False
        assert step_after(sampler, clock, 50) is False
    assert sampler.number == 0


@given(
    start_ms=st.integers(TICKS - 5000, TICKS + 5000),
    pauses_ms=st.lists(st.integers(0, 5000), max_size=30),
)
def test_time_goes_on_where_the_ticks_of_the_board_wrap(start_ms, pauses_ms):
    sampler, adc, clock = a_sampler(start_ms=start_ms)
    for pause in pauses_ms:
        adc.conversions.append(0)
        assert step_after(sampler, clock, pause) is True
    assert sampler.time_ms == sum(pauses_ms)
    assert sampler.number == len(pauses_ms)


def test_the_adc_is_started_anew_after_each_silence_and_after_a_read_that_was_not_valid():
    sampler, adc, clock = a_sampler()
    for _ in range(3):
        step_after(sampler, clock, 1000)
    assert adc.restarts == 3
    adc.conversions += [1, None, 2]
    for _ in range(3):
        step_after(sampler, clock, 100)
    assert adc.restarts == 4
