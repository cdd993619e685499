"""Zero, tare, units and a two-point adjustment, typed as a person without a host types them.

record(1) is an invented scale: 1001 counts a gram, 0 g at -2000 counts, d = 0.1 g, Max 3000 g. Limits: OIML R
76-1:2006, clause numbers and figures from memory.
"""

import pytest

from shared_calc import coefficient_record
from tests.firmware.parts import Bench, record


def counts_of(grams: float) -> int:
    return round(1001 * grams - 2000)


def place(bench: Bench, grams: float) -> None:
    bench.convert(*[counts_of(grams)] * 40)


def shown(bench: Bench) -> tuple[str, str]:
    """Return indication and flags of the latest reading."""
    fields = bench.ask("FETC?")[0].split(",")
    return fields[3], fields[5]


@pytest.fixture
def bench():
    bench = Bench()
    bench.ask(f'CAL:DATA "{record(1).hex()}"')
    place(bench, 0)
    return bench


def test_zero_is_set_and_cleared_and_can_be_read_exactly(bench):
    place(bench, 50)
    assert bench.ask("SENS:ZERO") == []
    assert shown(bench) == ("0.0", "AT_ZERO")  # 4.5.5
    value, parts = bench.ask("SENS:ZERO?")[0].split(",")
    assert value == "50.0"
    assert int(parts) == bench.device.chain.fine
    assert bench.ask("SENS:ZERO:CLE") == []
    assert shown(bench) == ("50.0", "OK")


def test_zero_further_than_4_per_cent_of_max_is_refused_and_the_initial_one_at_20(bench):
    place(bench, 121)  # 4.5.1
    assert bench.ask("SENS:ZERO") == ['!-200,"Execution error; further than 4 % of Max from zero: unload the scale"']
    assert bench.ask("SENS:ZERO:INIT") == []
    assert shown(bench) == ("0.0", "AT_ZERO")
    place(bench, 2000)
    assert bench.ask("SENS:ZERO:INIT") == ['!-200,"Execution error; zero or tare is set already"']


def test_tare_is_taken_off_and_marked_as_net(bench):
    place(bench, 500)
    assert bench.ask("SENS:TARE") == []
    place(bench, 700)
    assert shown(bench) == ("200.0", "NET")  # 4.6
    assert bench.ask("SENS:TARE?")[0].split(",")[0] == "500.0"
    assert bench.ask("SENS:TARE:CLE") == []
    assert shown(bench) == ("700.0", "OK")
    place(bench, 0)
    assert bench.ask("SENS:TARE") == ['!-200,"Execution error; there is no load above zero"']


@pytest.mark.parametrize("command", ["SENS:ZERO", "SENS:ZERO:INIT", "SENS:TARE"])
def test_a_moving_load_is_neither_zero_nor_tare(bench, command):
    bench.convert(counts_of(10))
    assert bench.ask(command) == ['!-200,"Execution error; the load is not at rest"']


def test_the_zero_is_tracked_only_once_asked_for(bench):
    place(bench, 0.04)
    assert bench.ask("SENS:ZERO?") == ["0.0,0"]
    assert bench.ask("SENS:ZERO:TRAC?") == ["0"]
    bench.ask("SENS:ZERO:TRAC ON")
    place(bench, 0.04)  # 4 s: a fraction of a division; 4.5.7
    assert bench.ask("SENS:ZERO:TRAC?") == ["1"]
    assert int(bench.ask("SENS:ZERO?")[0].split(",")[1]) == pytest.approx(bench.device.chain.fine, rel=0.01)


def test_new_coefficients_clear_zero_and_tare(bench):
    place(bench, 50)
    bench.ask("SENS:ZERO")
    bench.ask(f'CAL:DATA "{record(1).hex()}"')
    assert (shown(bench)[0], bench.ask("SENS:ZERO?")) == ("50.0", ["0.0,0"])


def test_the_display_value_comes_in_the_unit_chosen_and_the_reading_stays_in_grams(bench):
    place(bench, 453.6)
    assert bench.ask("UNIT:MASS?") == ['"g"']
    for symbol, value in (("lb", "1.0000"), ("oz", "16.000"), ("kg", "0.4536"), ("oz t", "14.585"), ("g", "453.6")):
        assert bench.ask(f'UNIT:MASS "{symbol}"') == []  # d: 0.1 g is 0.00022 lb, 0.0035 oz, 0.0032 oz t
        assert bench.ask("FETC:MASS?")[0].split(",")[1] == f'"{symbol}"'
        assert float(bench.ask("FETC:MASS?")[0].split(",")[0]) == pytest.approx(float(value), abs=0.003)
    assert shown(bench)[0] == "453.6"


def test_pieces_are_counted_by_a_sample(bench):
    assert bench.ask("UNIT:PIEC 10") == ['!-200,"Execution error; 10 pieces must lie on the scale, at rest"']
    place(bench, 25)
    assert bench.ask("UNIT:PIEC 10") == []
    place(bench, 2500)
    assert bench.ask("FETC:MASS?") == ['1000,"pcs"']
    bench.ask(f'CAL:DATA "{record(2).hex()}"')
    assert bench.ask("UNIT:MASS?") == ['"g"']


def test_a_scale_without_coefficients_is_adjusted_at_two_points():
    bench = Bench()
    bench.convert(*[1000] * 40)
    assert bench.ask("FETC:MASS?") == [',"g"']
    assert bench.ask("CAL:TWOP:EMPT") == []
    bench.convert(*[1_001_000] * 40)
    assert bench.ask("CAL:TWOP:LOAD 1000,3000,0.5") == []
    stored = coefficient_record.decode(bench.device.store.data)
    assert (stored.max_divisions, stored.mantissa, stored.power_of_ten) == (6000, 5, -1)
    bench.convert(*[501_000] * 40)
    assert shown(bench) == ("500.0", "OK")


def test_an_adjustment_keeps_max_and_division_unless_told(bench):
    assert bench.ask("CAL:TWOP:EMPT") == []
    place(bench, 1005)
    assert bench.ask("CAL:TWOP:LOAD 1000") == []
    bench.convert(counts_of(1005))
    assert shown(bench)[0] == "1000.0"
    assert coefficient_record.decode(bench.device.store.data).max_divisions == 30000


@pytest.mark.parametrize(
    ("line", "answer"),
    [
        ("CAL:TWOP:LOAD 100", "-222"),  # below a fifth of Max
        ("CAL:TWOP:LOAD 1000,3000,0.3", "-224"),
        ("CAL:TWOP:LOAD 1000,3000,0.000000001", "-222"),
        ("CAL:TWOP:LOAD heavy", "-104"),
        ("CAL:TWOP:LOAD 1,2,3,4", "-108"),
        ("CAL:TWOP:LOAD", "-109"),
    ],
)
def test_an_adjustment_that_cannot_be_made_changes_nothing(bench, line, answer):
    bench.ask("CAL:TWOP:EMPT")
    place(bench, 1000)
    before = bench.state()
    assert bench.ask(line)[0].startswith(f"!{answer},")
    assert bench.state() == before


def test_an_adjustment_needs_its_points_at_rest_in_order_and_the_seal_open(bench):
    assert "without a load comes first" in bench.ask("CAL:TWOP:LOAD 1000")[0]
    bench.convert(counts_of(500), counts_of(500))
    assert bench.ask("CAL:TWOP:EMPT") == ['!-200,"Execution error; the load is not at rest"']
    place(bench, 0)
    bench.ask("CAL:TWOP:EMPT")
    place(bench, 1000)
    bench.ask("CAL:SEAL ON")
    before = bench.state()
    assert bench.ask("CAL:TWOP:LOAD 1000")[0].startswith('!-203,"Command protected')
    assert bench.state() == before
