"""A scale that answers at once and has just the errors that a test gives it: its world is what was done to it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from scalewright.procedures.calibration import Calibration, Test
from scalewright.procedures.rehearsal import PerfectScale
from scalewright.procedures.requests import (
    MIDDLE,
    Answer,
    Place,
    PlaceLoad,
    Request,
    Restart,
    SetAir,
    StillReading,
    StoreCoefficients,
    TiltScale,
)
from scalewright.procedures.run import Run
from shared_calc.coefficient_record import encode
from tests.host.procedures.virtual_bench import HELD, straight

COUNTS_A_GRAM = 800  # of virtual_bench.straight


@dataclass
class World:
    """What was done to the scale."""

    load_g: float = 0.0
    pieces: tuple[str, ...] = ()
    at: Place = MIDDLE
    heaviest_g: float = 0.0
    placings: int = 0
    placed_min: float = 0.0
    x_per_mille: int = 0
    y_per_mille: int = 0
    air_c: float = 20.0
    air_min: float = 0.0
    now_min: float = 0.0
    """by the device's clock"""


Error = Callable[[World], float]


class FaultyScale(PerfectScale):
    """error_g: what it shows too much. temperature_c: what its thermometer shows."""

    def __init__(self, error_g: Error = lambda _: 0.0, temperature_c: Error = lambda world: world.air_c) -> None:
        super().__init__(encode(straight()), Decimal(3000), 80.0)
        self._error_g = error_g
        self._temperature_c_in = temperature_c
        self.world = World()

    def answer(self, request: Request) -> Answer:
        if isinstance(request, StoreCoefficients):
            return request.data  # the cell stays what it is
        answer = super().answer(request)
        world = self.world
        world.now_min = self.time_ms / 60_000
        match request:
            case PlaceLoad(load_g, pieces, at):
                world.load_g, world.pieces, world.at = float(load_g), pieces, at
                world.heaviest_g = max(world.heaviest_g, world.load_g)
                world.placings, world.placed_min = world.placings + 1, world.now_min
            case TiltScale(x, y):
                world.x_per_mille, world.y_per_mille = x, y
            case SetAir(air_c):
                world.air_c, world.air_min = float(air_c), world.now_min
            case Restart():
                world.placed_min = 0.0
        if isinstance(answer, StillReading):
            off = round(COUNTS_A_GRAM * self._error_g(world))
            temperature_c = Decimal(f"{self._temperature_c_in(world):.4f}")
            return replace(answer, counts_sum=answer.counts_sum + off * answer.readings, temperature_c=temperature_c)
        return answer


def plan_of(*tests: Test) -> Calibration:
    return Calibration(HELD, as_found=tests)


def run_of(*tests: Test, scale: FaultyScale | None = None) -> Run[Any]:
    """Return the run of a job of these tests at its end."""
    run, scale = Run(plan_of(*tests).steps), scale or FaultyScale()
    while run.request is not None:
        run.answer(scale.answer(run.request))
    return run
