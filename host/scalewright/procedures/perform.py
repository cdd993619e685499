"""Carrying a procedure out on a scale: every answer is kept before the next request is shown."""

from collections.abc import Callable
from contextlib import closing
from decimal import Decimal
from typing import Protocol, TypeVar

from scalewright.link.scale import Scale
from scalewright.procedures.requests import Answer, PlaceLoad, Request, StoreCoefficients, TakeStillReading
from scalewright.procedures.run import Run
from scalewright.procedures.stillness import take_still

Result = TypeVar("Result")


class Operator(Protocol):
    """Whoever handles the loads: a person, a script, or the virtual scale's own hand."""

    def place(self, load_g: Decimal) -> None:
        """Return when exactly this load is on the scale."""


class VirtualOperator:
    """Puts loads on the virtual scale by its own command."""

    def __init__(self, scale: Scale) -> None:
        self._scale = scale

    def place(self, load_g: Decimal) -> None:
        """Put this load on, in the middle of the pan."""
        self._scale.ask(f"VIRTual:LOAD {load_g}")

    def set_air(self, air_c: Decimal) -> None:
        """Bring the air around the scale to this temperature."""
        self._scale.ask(f"VIRTual:TEMPerature {air_c}")


def perform(
    run: Run[Result], scale: Scale, operator: Operator, keep: Callable[[Request, Answer], None]
) -> Result:
    """Answer every request of the run and return its result. `keep` returns once the answer is safe on disk."""
    while run.request is not None:
        answer = _answer_to(run.request, scale, operator)
        keep(run.request, answer)
        run.answer(answer)
    assert run.result is not None
    return run.result


def _answer_to(request: Request, scale: Scale, operator: Operator) -> Answer:
    match request:
        case PlaceLoad(load_g):
            operator.place(load_g)
            return None
        case TakeStillReading(readings):
            with closing(scale.readings()) as stream:
                return take_still(stream, readings)
        case StoreCoefficients(data):
            scale.store_coefficients(data)
            return scale.read_coefficients()
