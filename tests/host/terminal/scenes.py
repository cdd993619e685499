"""The screens as they stand at a fixed moment: a real virtual scale's readings, taken before the app is opened."""

from contextlib import closing
from pathlib import Path

from scalewright.link.ports import Port
from scalewright.link.scale import Scale
from scalewright.procedures.plans import Plan
from scalewright.procedures.rehearsal import PerfectScale, rehearse
from scalewright.procedures.run import Run
from scalewright.terminal.app import BenchApp
from scalewright.terminal.bench import Bench
from scalewright.terminal.line import LIVE, Line
from scalewright.terminal.live_scale import LiveScale
from scalewright.terminal.progress import HANDS, Progress
from scalewright.terminal.work import COUNTED
from shared_calc.coefficient_record import decode

URL = "virtual://PLOVER?seed=1729&speed=0"
READINGS = 300


def two_point_calibrated(scale: Scale) -> None:
    """Adjust it by the device's own two-point adjustment: Max 3 kg, d = 1 g."""
    _stand(scale, 60)
    scale.ask("CALibration:TWOPoint:EMPTy")
    scale.ask("VIRTual:LOAD 3000")
    _stand(scale, 60)
    scale.ask("CALibration:TWOPoint:LOAD 3000,3000,1")


def _stand(scale: Scale, readings: int) -> None:
    for _ in range(readings):
        scale.read()


def weighing_app(folder: Path, *, is_calibrated: bool, **look: bool) -> BenchApp:
    """Return the app with a scale on which 1500 g were put half a minute ago. Its line is a recording: it is silent."""
    bench = Bench(folder / "records.sqlite", LiveScale(URL))
    assert bench.live is not None
    with Scale.open(URL) as scale:
        if is_calibrated:
            two_point_calibrated(scale)
        record = decode(scale.read_coefficients()) if is_calibrated else None
        bench.live.news.put(Line(LIVE, "connected", scale.identify(), record))
        scale.ask("VIRTual:LOAD 0")
        with closing(scale.readings()) as stream:
            for number, reading in zip(range(READINGS), stream, strict=False):
                bench.live.news.put(reading)
                if number == READINGS // 2:
                    scale.ask("VIRTual:LOAD 1500")
    return BenchApp(bench, **look)


PORTS = [Port("/dev/ttyACM0", "Board in FS mode", True), Port("virtual://bench", "virtual scale", False)]


def progress_of(plan: Plan, answers: int, state: str = HANDS) -> Progress:
    """Return how a job stands after so many answers of a scale without error; -1: at its end."""
    scale, run = PerfectScale(b"", plan.full_g, 10.0), Run(plan.steps)
    while run.request is not None and len(run.answered) != answers:
        run.answer(scale.answer(run.request))
    readings = sum(isinstance(request, COUNTED) for request, _ in run.answered)
    outcomes, stages, answered = tuple(run.outcomes), tuple(run.stages), len(run.answered)
    outline, name = rehearse(plan), "20260301T091500Z-0a1b2c3d"
    return Progress(state, name, plan, outline, run.request, stages, outcomes, answered, readings)


def working_app(folder: Path, progress: Progress, **look: bool) -> BenchApp:
    """Return the app with a job on a scale that is silent."""
    app = weighing_app(folder, is_calibrated=False, **look)
    app.bench.progress = progress
    return app
