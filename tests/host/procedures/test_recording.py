"""Going through loads and temperatures by the device's clock."""

from decimal import Decimal

from scalewright.link.scale import Scale
from scalewright.procedures.recording import Step, record
from scalewright.procedures.requests import PlaceLoad, SetAir, Setting
from scalewright.procedures.virtual_hand import VirtualHand


class Noting(VirtualHand):
    """The virtual scale's hand, and what it was asked."""

    def __init__(self, scale: Scale) -> None:
        super().__init__(scale)
        self.asked: list[Setting] = []

    def act(self, setting: Setting) -> None:
        self.asked.append(setting)
        super().act(setting)


def test_each_step_lasts_its_time_on_the_device_with_its_load() -> None:
    steps = [
        Step(Decimal(0), Decimal(5)),
        Step(Decimal(1000), Decimal(8), Decimal(30)),
        Step(Decimal(1000), Decimal(2)),
    ]
    rows = []
    with Scale.open("virtual://bench?speed=0") as scale:
        operator = Noting(scale)
        record(scale, operator, steps, lambda reading, load_g: rows.append((reading, load_g)))
    # The same load is not placed again.
    assert operator.asked == [PlaceLoad(Decimal(0)), SetAir(Decimal(30)), PlaceLoad(Decimal(1000))]
    loads = [load_g for _, load_g in rows]
    assert [loads.count(Decimal(load)) for load in (0, 1000)] == [50, 100]  # at 10 readings a second
    times = [reading.time_ms for reading, _ in rows]
    assert times == sorted(set(times)) and times[49] - times[0] == 4900
    settled = [reading.counts for reading, load_g in rows[60:] if load_g]
    assert min(settled) - max(reading.counts for reading, load_g in rows if not load_g) > 800_000
