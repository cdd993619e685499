"""The hand at a virtual scale: does by the scale's own commands what a person does at a real one."""

from collections.abc import Callable
from decimal import Decimal
from typing import TYPE_CHECKING

from scalewright.errors import MeasurementError, ProcedureError
from scalewright.link.reading import Reading
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import Ask, PlaceLoad, Request, Restart, SetAir, Setting, TiltScale

if TYPE_CHECKING:
    from scalewright.link.scale import Scale


class VirtualHand:
    """Follows any procedure by itself. What it cannot answer it takes from `answers`, or the first choice there is."""

    def __init__(
        self,
        scale: "Scale",
        answers: dict[str, str] | None = None,
        show: Callable[[Outcome], None] | None = None,
    ) -> None:
        self._scale = scale
        self._show = show
        self._answers = answers or {}
        self._pan_mm: tuple[Decimal, Decimal] | None = None

    def act(self, setting: Setting) -> None:
        """Do it; what has no counterpart in the virtual world counts as done."""
        match setting:
            case PlaceLoad():
                self._place(setting)
            case TiltScale(x_per_mille, y_per_mille):
                self._scale.ask(f"VIRTual:TILT {x_per_mille},{y_per_mille}")
            case SetAir(air_c):
                self._scale.ask(f"VIRTual:TEMPerature {air_c}")
            case Restart(off_s):
                self._scale.ask(f"VIRTual:POWer:CYCLe {off_s}")

    def ask(self, question: Ask) -> str:
        """Answer as told, or take the first choice. Raises ProcedureError where there is neither."""
        answer = self._answers.get(question.question) or next(iter(question.choices), None)
        if answer is None:
            raise ProcedureError(f"nobody is there to answer: {question.question}")
        return answer

    def refused(self, request: Request, refusal: MeasurementError, *, can_be_accepted: bool) -> str:
        """Accept what can be accepted: this hand is sure of what it put on. Raises the refusal of anything else."""
        if not can_be_accepted:
            raise refusal
        return "the virtual hand put on just what was asked for"

    def watch(self, reading: Reading) -> None:
        """Nobody looks."""

    def show(self, outcome: Outcome) -> None:
        """Hand it on to whoever wants to see it."""
        if self._show is not None:
            self._show(outcome)

    def _place(self, load: PlaceLoad) -> None:
        pieces = "+".join(load.pieces) or str(load.load_g)
        if load.added_g:
            pieces += f"+{load.added_g}"
        if load.ballast_g:
            pieces += f"+{_ballast_g(load.ballast_g)}"
        half_width_mm, half_depth_mm = self._pan()
        x_mm, y_mm = round(load.at.x * half_width_mm, 1), round(load.at.y * half_depth_mm, 1)
        self._scale.ask(f"VIRTual:LOAD {pieces},{x_mm},{y_mm}")

    def _pan(self) -> tuple[Decimal, Decimal]:
        if self._pan_mm is None:
            half_width_mm, half_depth_mm = self._scale.ask("VIRTual:PAN?").split(",")
            self._pan_mm = Decimal(half_width_mm), Decimal(half_depth_mm)
        return self._pan_mm


def _ballast_g(shown_g: Decimal) -> Decimal:
    """Return the ballast that is really put on: it comes in lumps, so it is up to a thousandth too much."""
    lump_g = Decimal(1).scaleb(shown_g.adjusted() - 3)
    return (shown_g // lump_g + 1) * lump_g
