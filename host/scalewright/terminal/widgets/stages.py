"""The parts of a job: which are done, which is under way, which are to come."""

from textual.content import Content
from textual.widgets import Static

from scalewright.terminal.guidance import title_of
from scalewright.terminal.progress import ENDED, Progress

DONE, NOW, TO_COME = "done", "now", "to come"
_SIGNS = {DONE: "✓", NOW: "▶", TO_COME: "·"}
_STYLES = {DONE: "$foreground", NOW: "bold $primary", TO_COME: "$secondary"}


def stages_of(progress: Progress) -> list[tuple[str, str, str]]:
    """Return for each part whether it is DONE, NOW or TO_COME, its title, and what was found there so far."""
    begun = [stage.title for stage in progress.stages]
    last = len(begun) if progress.state == ENDED else len(begun) - 1
    titles = [*begun, *progress.outline.stages[len(begun) :]]
    return [(_when(place, last), title, verdict_on(progress, title)) for place, title in enumerate(titles)]


def _when(place: int, last: int) -> str:
    return DONE if place < last else NOW if place == last else TO_COME


def verdict_on(progress: Progress, title: str) -> str:
    """Return how many figures of a part are within what is allowed, or how many are beyond; "" where there is none."""
    outcomes = [outcome for outcome in progress.outcomes if outcome.stage == title]
    beyond = sum(not outcome.passes for outcome in outcomes)
    if not outcomes:
        return ""
    return f"{beyond} of {len(outcomes)} beyond: FAIL" if beyond else f"{len(outcomes)} within"


class Stages(Static):
    """One part a line, with what was found below it."""

    def show(self, progress: Progress) -> None:
        """Bring them up to date."""
        lines = []
        for when, title, verdict in stages_of(progress):
            lines.append(Content.styled(f"{_SIGNS[when]} {title_of(progress, title)}", _STYLES[when]))
            if verdict:
                lines.append(Content.styled(f"  {verdict}", "bold $error" if "beyond" in verdict else "$success"))
        self.update(Content("\n").join(lines))
