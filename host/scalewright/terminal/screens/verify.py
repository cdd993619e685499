"""Proving that no record was changed, with how far it is; it can be broken off."""

import asyncio
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from scalewright.errors import ScalewrightError
from scalewright.terminal.open_records import with_journal

if TYPE_CHECKING:
    from scalewright.records.chain import Verification
    from scalewright.records.journal import Journal

_BAR = 30  # columns
_SHOW_EVERY_S = 0.1
_DIGITS = 64


class _BrokenOff(Exception):
    """Raised in the thread that verifies."""


class VerifyScreen(ModalScreen[None]):
    """Asks for a hash that somebody kept, then verifies and says what holds."""

    CSS_PATH = "over.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss", "Back")]

    def __init__(self, records: Path) -> None:
        super().__init__()
        self._records = records
        self._entries = self._verified = 0
        self._is_broken_off = False

    def compose(self) -> ComposeResult:
        """What it does, the field for a hash, how far it is and what came of it."""
        with Vertical(classes="sheet"):
            yield Static("Prove that no record was changed", classes="words")
            yield Static(
                "Each entry holds the hash of the one before, so a change shows. Only a hash that was kept elsewhere, "
                "such as on a certificate, proves the newest entries too: type it in if you have one.",
                markup=False,
            )
            yield Input(placeholder="64 digits, or nothing; then Enter", compact=True)
            yield Static(id="verdict")
            yield Static("Enter: verify   Escape: back", classes="quiet")

    def on_mount(self) -> None:
        """Show how far it is, at a pace that suits a person."""
        self.set_interval(_SHOW_EVERY_S, self._show_how_far)

    def on_unmount(self) -> None:
        """Nobody waits for it any more."""
        self._is_broken_off = True

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Begin, where the hash can be one."""
        head = event.value.strip().lower()
        if head and (len(head) != _DIGITS or not set(head) <= set("0123456789abcdef")):
            wrong = f"{len(head)} signs found; expected the {_DIGITS} hexadecimal digits of a hash"
            self._say(Content.styled(wrong, "$error"))
        else:
            self._verify(head or None)

    @work(exclusive=True)
    async def _verify(self, head: str | None) -> None:
        def act(journal: "Journal") -> "Verification":
            self._entries, self._verified = journal.count(), 0
            return journal.verify(head, self._note)

        try:
            found = await asyncio.to_thread(with_journal, self._records, act)
        except ScalewrightError as error:
            self._say(Content.from_markup("[bold $error]Not done:[/] $why", why=str(error)))
        except _BrokenOff:
            return
        else:
            self._say(verdict_of(found))
        self._entries = 0

    def _note(self, verified: int) -> None:
        """In the thread: say how far it is. Raises _BrokenOff where nobody waits for it."""
        self._verified = verified
        if self._is_broken_off:
            raise _BrokenOff

    def _show_how_far(self) -> None:
        if self._entries:
            done = round(self._verified / self._entries * _BAR)
            bar = "━" * done + "─" * (_BAR - done)
            self._say(Content.assemble((bar, "$primary"), f" {self._verified:,} of {self._entries:,} entries"))

    def _say(self, text: Content) -> None:
        self.query_one("#verdict", Static).update(text)


def verdict_of(found: "Verification") -> Content:
    """Return what was found, in a word and a sentence."""
    if found.holds:
        words = Content.styled(f"✓ It holds: {found.entries:,} entries, none changed.", "bold $success")
        return Content.assemble(words, "\n", ("The last hash, to be kept elsewhere:\n", "$secondary"), found.head)
    return Content.styled(f"! It does NOT hold: {found.detail}", "bold $error")
