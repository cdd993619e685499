"""The same seed and commands give the same counts, on CPython and on the real MicroPython, through either driver."""

import math

import pytest

from tests.on_micropython.runtimes import UnixPort
from tests.virtual_scale.ports import ask, open_port, read_counts, tell
from virtual_scale.virtual_board import VirtualBoard, parse_options


def a_morning(**options):
    """The readings of a few loads, and the device's time after them."""
    with open_port(**options) as port:
        readings = read_counts(port, 6)
        for load in ("1000", "3000,50,-20", "0"):
            tell(port, f"VIRTual:LOAD {load}")
            readings += read_counts(port, 8)
        tell(port, "VIRTual:FAULt STUCk")
        return [*readings, *read_counts(port, 2), ask(port, "FETCh?")]


@pytest.mark.parametrize(
    ("adc", "driver", "rate"),
    [
        *[("hx711", "spi", 10), ("hx711", "spi", 80), ("hx711", "pins", 80)],
        *[("nau7802", "i2c", 10), ("nau7802", "i2c", 320), ("ads1232", "spi", 10), ("ads1232", "pins", 80)],
    ],
)
def test_the_unix_port_gives_the_same_counts_and_times_as_cpython(unix_port: UnixPort, adc, driver, rate):
    options = {"adc": adc, "driver": driver, "rate": rate, "seed": 20}
    in_process = a_morning(**options)
    assert len(set(in_process)) > 20
    assert a_morning(**options, runtime="micropython") == in_process


def test_the_unix_port_gives_the_same_counts_with_everything_switched_on(unix_port: UnixPort):
    """But the ringing, which turns the microseconds by which they place a load apart into counts."""
    options = {"cell_corner_xy_per_mm2": 1e-6, "cell_overload_set": 0.02, "cell_safe_load": 0.5}
    options |= {"room_vibration_g": 2, "room_draught_g": 1, "mass_1000": 0.7, "thermometer_lag_s": 3}
    options |= {"electronics_warm_up_zero_uv": 5, "electronics_warm_up_span": 0.001, "electronics_flicker_uv": 0.5}
    in_process = a_morning(**options)
    assert in_process != a_morning()
    assert a_morning(**options, runtime="micropython") == in_process


@pytest.mark.parametrize("adc", ["hx711", "ads1232"])
def test_both_drivers_find_the_same_counts(adc):
    with open_port(adc=adc, driver="spi") as one, open_port(adc=adc, driver="pins") as other:
        assert read_counts(one, 20) == read_counts(other, 20)


def test_a_seed_repeats_and_another_does_not():
    assert a_morning(seed=1) == a_morning(seed=1) != a_morning(seed=2)


def test_the_cell_can_be_another():
    """Twice the rated output: twice the signal, without changing anything else."""
    nets = []
    for rated_output in (1.0, 2.0):
        with open_port(cell_rated_output_mv_per_v=rated_output, cell_zero_balance_mv_per_v=0) as port:
            tell(port, "VIRTual:LOAD 4000")
            nets.append(read_counts(port, 5)[-1])
    assert nets[1] == pytest.approx(2 * nets[0], abs=300)


@pytest.mark.parametrize("adc", ["hx711", "nau7802", "ads1232"])
def test_every_adc_converts_again_after_a_power_cycle(adc):
    """And no timeout counts the hour without power."""
    with open_port(adc=adc, timeout=5) as port:
        tell(port, "VIRTual:LOAD 1000")
        counts = read_counts(port, 10)[-1]
        port.write(b"VIRTual:POWer:CYCLe 3600\n")
        assert read_counts(port, 10)[-1] == pytest.approx(counts, abs=600)


def test_a_piece_can_be_wrong_from_the_start():
    with open_port(**{"mass_500": -0.8, "mass_200*": 0.1}) as port:
        tell(port, "VIRT:LOAD 500+200*+200")
        assert ask(port, "VIRT:LOAD?") == "899.3000,0.0,0.0"


@pytest.mark.parametrize(
    ("option", "complaint"),
    [
        (("colour", "red"), "option colour is not known"),
        (("seed", "x"), "option seed=x: expected a number"),
        (("rate", "11"), "option rate=11: expected 10 or 80"),
        (("adc", "hx712"), "option adc=hx712: expected ads1232, hx711 or nau7802"),
        (("driver", "i2c"), "option driver=i2c: expected spi or pins"),
        (("thermometer", "mercury"), "option thermometer=mercury: expected ideal or ds18b20"),
        (("speed", "-1"), "option speed=-1: expected 0 to"),
        (("speed", "nan"), "option speed=nan: expected 0 to"),
        (("cell_colour", "1"), "a load cell has no parameter colour"),
        (("cell_creep", "1"), "a load cell has no parameter creep"),
        (("cell_ring_decay_s", "0"), "a load cell with ring_decay_s=0.0: expected more than 0"),
        (("electronics_colour", "1"), "an amplifier has no parameter colour"),
        (("mass_heavy", "1"), "option mass_heavy=1: expected"),
        (("mass_500", "much"), "option mass_500=much: expected a number"),
        (("thermometer_lag_s", "0"), "option thermometer_lag_s=0: expected more than 0"),
        (("room_colour", "1"), "a room has no parameter colour"),
        (("room_air_c", "warm"), "option room_air_c=warm: expected a number"),
    ],
)
def test_an_option_that_cannot_be_used_is_named(option, complaint):
    with pytest.raises(ValueError, match=complaint):
        parse_options([option])


@pytest.mark.parametrize(
    ("options", "complaint"),
    [
        ([("adc", "nau7802"), ("driver", "spi")], "option driver=spi: expected i2c"),
        ([("adc", "nau7802"), ("rate", "160")], "option rate=160: expected 10, 20, 40, 80 or 320"),
        ([("rate", "320"), ("adc", "ads1232")], "option rate=320: expected 10 or 80"),
    ],
)
def test_rate_and_driver_are_those_of_the_adc(options, complaint):
    with pytest.raises(ValueError, match=complaint):
        parse_options(options)


def test_a_step_of_the_temperature_is_as_fast_as_cell_and_thermometer_are():
    """Two lags in a row of 1 s and 2 s: 1 - 2 exp(-t / 2 s) + exp(-t / 1 s) of the step, from any table of Laplace
    transforms."""
    options = [("room_time_constant_s", "1"), ("room_warm_up_c", "0"), ("thermometer_lag_s", "2")]
    board = VirtualBoard(None, lambda: 0, **parse_options(options))
    board.room.set_air(36.0, 0.0)
    for _ in range(400):
        board.clock.now_ns += 10_000_000
        read = board.thermometer.read()
    assert read / 16 == pytest.approx(20 + 16 * (1 - 2 * math.exp(-2) + math.exp(-4)), abs=1 / 16)


def test_the_thermometer_can_be_a_ds18b20_behind_its_driver():
    ideal, wired = (
        VirtualBoard(None, lambda: 0, **parse_options([("thermometer", kind)])) for kind in ("ideal", "ds18b20")
    )
    seen = []
    for _ in range(20_000):  # 250 s
        for board in (ideal, wired):
            board.clock.now_ns += 12_500_000
        seen.append((ideal.thermometer.read(), wired.thermometer.read()))
    assert seen[0] == (320, None)
    assert seen[-1][0] > 320  # the cell warms itself
    assert all(abs(one - other) <= 1 for one, other in seen[100:])
    for board in (ideal, wired):
        assert board.thermometer.is_connected
        board.thermometer.is_connected = False
    wired.clock.now_ns += 11_000_000_000
    assert (ideal.thermometer.read(), wired.thermometer.read()) == (None, None)
