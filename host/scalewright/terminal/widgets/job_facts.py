"""Everything there is to say of a job, as a text."""

from collections.abc import Iterator

from textual.content import Content

from scalewright.procedures.outcomes import Outcome
from scalewright.terminal.facts import heading, stated
from scalewright.terminal.job_lines import FAILED, LEFT, OPEN, PASSED, JobStory
from scalewright.terminal.widgets.outcomes import outcome_line

STYLES = {PASSED: "$success", FAILED: "bold $error", OPEN: "bold $accent", LEFT: "$secondary"}
_SIGNS = {PASSED: "✓", FAILED: "!", OPEN: "…", LEFT: "○"}


def state_words(state: str) -> Content:
    """Return a state with its sign, 9 wide."""
    return Content.styled(f"{_SIGNS[state]} {state:7}", STYLES[state])


def facts_of(job: JobStory) -> list[Content]:
    """Return the lines of the text."""
    line, known = job.line, job.story.circumstances
    lines = [
        Content.assemble(heading(line.what), "  ", state_words(line.state)),
        Content.styled(line.name, "$secondary"),
        *stated(
            ("scale", _scale(job)), ("begun", f"{_moment(line.at)} UTC"), ("by", line.by),
            ("last entry", f"{_moment(job.last.at)} UTC"), ("masses", ", ".join(known.masses)),
            ("instruments", ", ".join(known.instruments)), ("remarks", known.remarks),
            ("coefficients", _change(job, "coefficients")), ("event counter", _change(job, "events")),
            ("certificates", ", ".join(job.certificates)),
        ),
        *_set_aside(job),
        *_ended(job),
        *_found(job),
    ]  # fmt: skip
    return [*lines, *_proof(job)]


def _scale(job: JobStory) -> str:
    device = job.story.begun["device"]
    return f"{job.line.scale} ({device['model']} {device['serial_number']})"


def _moment(at: str) -> str:
    return at[:16].replace("T", " ")


def _change(job: JobStory, name: str) -> str:
    found, left = job.story.begun["device"][name], job.device_left[name]
    return str(found) if found == left else f"{found} → {left}"


def _set_aside(job: JobStory) -> Iterator[Content]:
    """Whatever was decided against a warning, with its reason."""
    overrides = job.story.circumstances.overrides
    if not (overrides or job.accepted or job.story.withdrawn):
        return
    yield Content("")
    yield heading("decided by the person, with a reason")
    for override in overrides:
        yield Content.styled(f"! set aside: {override.objection}, because: {override.reason}", "$accent")
    for why in job.accepted:
        yield Content.styled(f"! a refused reading was accepted, because: {why}", "$accent")
    for answers, reason in job.story.withdrawn:
        yield Content.styled(f"! the last {answers} answers were withdrawn, because: {reason}", "$accent")


def _ended(job: JobStory) -> Iterator[Content]:
    if job.line.state == LEFT and job.story.end:
        yield Content.styled(f"left without a result: {job.story.end['reason']}", "$accent")
    if job.line.state == OPEN:
        yield Content.styled(f"open after {len(job.story.answers)} answers: R goes on with it", "$accent")


def _found(job: JobStory) -> Iterator[Content]:
    yield Content("")
    if job.unread:
        yield Content(f"What was found cannot be told: {job.unread}.")
    elif not job.outcomes:
        yield Content("Nothing was found yet.")
    stage: str | None = None
    for outcome in job.outcomes:
        if outcome.stage != stage:
            stage = outcome.stage
            yield Content.styled(f"{stage[:22]:23}{'found':>9}{'allowed':>8}", "$secondary")
        yield _outcome(outcome)


def _proof(job: JobStory) -> Iterator[Content]:
    """What proves a result, where there is one."""
    if job.line.state in (PASSED, FAILED):
        yield Content("")
        yield heading("proof")
        yield from stated(("entry", job.last.seq), ("hash", job.last.hash[:32]), (" ", job.last.hash[32:]))


def _outcome(outcome: Outcome) -> Content:
    return Content.styled(outcome_line(outcome), "$foreground" if outcome.passes else "bold $error")
