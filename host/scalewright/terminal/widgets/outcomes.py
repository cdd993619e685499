"""What was found, beside what is allowed, as it comes."""

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from scalewright.procedures.outcomes import Outcome
from scalewright.terminal.guidance import title_of
from scalewright.terminal.progress import Progress

_WHAT, _FIGURE = 28, 8  # columns


def outcome_line(outcome: Outcome) -> str:
    """Return one figure with its limit and the verdict in a word."""
    found, allowed = f"{float(outcome.value):+.3f}", f"{float(outcome.limit):.3f}"
    return _line(outcome.what, found, allowed, f" {outcome.unit:2} {'PASS' if outcome.passes else 'FAIL'}")


def _line(what: str, found: str, allowed: str, rest: str = "") -> str:
    return f"{_short(what):{_WHAT}}{found:>{_FIGURE}}{allowed:>{_FIGURE}}{rest}"


def _short(text: str) -> str:
    return text if len(text) <= _WHAT else f"{text[: _WHAT - 1]}…"


class Outcomes(VerticalScroll):
    """A table that follows its newest line."""

    can_focus = False

    def compose(self) -> ComposeResult:
        """One text, which scrolls."""
        yield Static()

    def show(self, progress: Progress) -> None:
        """Bring it up to date; each part has its heading."""
        lines: list[Content] = []
        stage = ""
        for outcome in progress.outcomes:
            if outcome.stage != stage:
                stage = outcome.stage
                heading = _line(title_of(progress, stage), "found", "allowed")
                lines.append(Content.styled(heading, "$secondary"))
            lines.append(Content.styled(outcome_line(outcome), "$foreground" if outcome.passes else "bold $error"))
        lines += [Content.styled(f"! {suspicion}", "bold $error") for suspicion in progress.suspicions]
        self.query_one(Static).update(Content("\n").join(lines) or "What is found appears here, beside what is allowed")
        self.scroll_end(animate=False)
