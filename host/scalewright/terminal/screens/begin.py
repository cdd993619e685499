"""What Calibrate and Test share before the job: what it is done with, and the guards that look at that first."""

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import groupby

from textual import work
from textual.app import ComposeResult

from scalewright.errors import ScalewrightError
from scalewright.guards import Objection, overridden
from scalewright.link.sighting import look_at
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.daily_check import DailyCheck
from scalewright.terminal.bench import Bench
from scalewright.terminal.chosen import Chosen, Registers
from scalewright.terminal.line import Leave
from scalewright.terminal.messages import LineChanged
from scalewright.terminal.screens.ask import AskScreen
from scalewright.terminal.screens.work import WorkScreen
from scalewright.terminal.widgets.job_fields import JobFields

MakePlan = Callable[[Chosen], Calibration | DailyCheck]
"""Makes the plan of what is chosen. Raises InputError."""
_MOST_SENTENCES = 3


class BeginScreen(WorkScreen):
    """Offers what is registered, and begins a job with what is chosen of it."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self._are_offered = asyncio.Event()
        self._offered_for = ""

    def compose_job_fields(self) -> ComposeResult:
        """The fields below those of the screen."""
        yield JobFields()

    def on_screen_resume(self) -> None:
        """As every screen; and something may have been registered meanwhile."""
        super().on_screen_resume()
        self._look_for_registers()

    def on_line_changed(self, message: LineChanged) -> None:
        """As every screen; another scale may be registered under another key."""
        super().on_line_changed(message)
        if self._serial_number != self._offered_for:
            self._look_for_registers()

    @property
    def _serial_number(self) -> str:
        identity = self.bench.line.identity
        return identity.serial_number if identity else ""

    def _look_for_registers(self) -> None:
        self._offered_for = self._serial_number
        self._are_offered.clear()
        self._offer_registers()

    @work(exclusive=True, group="registers")
    async def _offer_registers(self) -> None:
        try:
            found = await asyncio.to_thread(Registers.read, self.bench.records)
        except ScalewrightError as error:
            self.say_not(error)
            found = Registers()
        if self.query("#by"):  # else the program was left meanwhile
            self.query_one(JobFields).offer(found, self._offered_for, self.bench.by)
            self._are_offered.set()

    def begin_job(self, make_plan: MakePlan, *, calibrates: bool = False) -> None:
        """Make the plan, let the guards look, and begin; where that is not to be, say why."""
        self.say("")
        self.set_focus(None)  # a second Enter begins no second job
        self._begin_job(make_plan, calibrates)

    @work(exclusive=True, group="begin")
    async def _begin_job(self, make_plan: MakePlan, calibrates: bool) -> None:
        await self._are_offered.wait()  # whoever is quicker than the records means what they are about to offer
        try:
            chosen = self.query_one(JobFields).chosen()
            plan = make_plan(chosen)
            objections = await self._objections(chosen, plan, calibrates)
            reasons = await self._ask_for_reasons(objections)
            if reasons is None:
                self.say("Not begun.")
                self.focus_form()
                return
            told = replace(chosen.circumstances, overrides=overridden(objections, reasons))
            self.bench.by = chosen.by or self.bench.by
            self.then(self.bench.begin(plan, told), lambda _: None)
        except ScalewrightError as error:
            self.say_not(error)
            self.focus_form()
        except Leave:  # the scale was let go meanwhile
            self.focus_form()

    async def _objections(self, chosen: Chosen, plan: Calibration | DailyCheck, calibrates: bool) -> list[Objection]:
        if not chosen.is_guarded or self.bench.live is None:
            return []
        device = await asyncio.wrap_future(self.bench.live.between(look_at))
        records, limits, today = self.bench.records, plan.held.limits, self.bench.today()
        return await asyncio.to_thread(chosen.objections, records, device, limits, today, calibrates=calibrates)

    async def _ask_for_reasons(self, objections: Sequence[Objection]) -> dict[str, str] | None:
        """Return why each guard that objects is set aside; None where the person goes back."""
        reasons = {}
        for guard, found in groupby(objections, key=lambda objection: objection.guard):
            reason = await self.app.push_screen_wait(AskScreen(_question(list(found)), "why it goes on all the same"))
            if reason is None:
                return None
            reasons[guard] = reason
        return reasons


def _question(found: Sequence[Objection]) -> str:
    """Return what one guard says, and what to do about it."""
    more = [f"and {len(found) - _MOST_SENTENCES} more"] if len(found) > _MOST_SENTENCES else []
    said = "; ".join([str(found[0]), *(each.reason for each in found[1:_MOST_SENTENCES]), *more])
    remedy = found[0].remedy
    way_out = f"{remedy[0].upper()}{remedy[1:]}; or give a reason to go on, which is recorded."
    return f"{said[0].upper()}{said[1:]}.\n{way_out}"
