"""The diagnosis in words: what is wrong, and what to check first."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from scalewright.link.diagnosis import DeviceDiagnosis, Finding

_EXPECTED = {"UNCALIBRATED"}  # a scale that is new is not a scale that is ill


class Findings(Static):
    """The first finding and its first check; `show_all` lists every one."""

    diagnosis: DeviceDiagnosis | None = None

    def show(self, diagnosis: DeviceDiagnosis) -> None:
        """Say what the device found."""
        self.diagnosis = diagnosis
        found = [finding for finding in diagnosis.findings if finding.name not in _EXPECTED]
        if not found:
            self.update(Content.styled("No fault is seen.", "$success"))
        else:
            meaning, check = found[0].meaning, found[0].checks[0]
            text = "[bold $error]! $meaning.[/]\nCheck first: $check"
            self.update(Content.from_markup(text, meaning=meaning, check=check))

    def show_all(self) -> None:
        """Lay all checks over the screen."""
        findings = self.diagnosis.findings if self.diagnosis else ()
        self.app.push_screen(FindingsScreen(findings))


class FindingsScreen(ModalScreen[None]):
    """Every finding with its checks, likeliest and easiest first."""

    CSS_PATH = "../screens/over.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [("escape,f,enter,q", "dismiss", "Back")]

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__()
        self._findings = findings

    def compose(self) -> ComposeResult:
        """A box with the text."""
        with VerticalScroll(id="help") as box:
            box.border_title, box.border_subtitle = "What the scale finds", "Escape: back"
            yield Static("\n\n".join(map(_text_of, self._findings)) or "No fault is seen.", markup=False)


def _text_of(finding: Finding) -> str:
    checks = [f"  {number}. {check}" for number, check in enumerate(finding.checks, 1)]
    return "\n".join([f"{finding.name}: {finding.meaning}. Check, in this order:", *checks])
