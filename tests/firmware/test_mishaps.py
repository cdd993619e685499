"""After every mishap the device answers and weighs as before."""

import pytest

from tests.firmware.mishaps import MISHAPS, a_bench, weighs_as_before
from tests.firmware.parts import record

pytestmark = pytest.mark.usefixtures("board_memory")


@pytest.mark.parametrize("mishap", MISHAPS)
def test_after_every_mishap_the_device_answers_and_weighs_as_before(mishap):
    weighs_as_before(mishap(a_bench()))


def test_the_check_itself_sees_a_device_that_weighs_otherwise():
    bench = a_bench()
    bench.ask(f'CAL:DATA "{record(2).hex()}"')
    with pytest.raises(AssertionError):
        weighs_as_before(bench)


def test_mishaps_are_counted():
    bench = a_bench()
    assert bench.ask("SYST:MISH?") == ["0"]
    bench.device.chain.take = None
    bench.convert(98100)
    assert bench.ask("SYST:MISH?") == ["1"]
    assert bench.ask("FETC?")[0].split(",")[2:] == ["", "", "", "NO_DATA"]  # nothing stale is shown
    assert "TypeError" in bench.ask("SYST:ERR?")[0]
