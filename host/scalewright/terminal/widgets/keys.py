"""The keys at the foot of a screen, as one line of text; Textual's own foot is a widget a key, built anew each time."""

from textual.app import App
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static


class Keys(Static):
    """Shows the keys that do something now; each can be clicked."""

    ALLOW_SELECT = False

    def on_mount(self) -> None:
        """Follow what the screen offers."""
        self.screen.bindings_updated_signal.subscribe(self, self._show)
        self.call_after_refresh(self._show, self.screen)

    def _show(self, screen: Screen[object]) -> None:
        if self.is_attached and screen is self.screen:
            self.update(keys_of(screen, self.app))


def keys_of(screen: Screen[object], app: App[object]) -> Content:
    """Return the keys and what they do, those of the screen before those that are everywhere."""
    shown: dict[str, Content] = {}
    for _, binding, is_enabled, _ in screen.active_bindings.values():
        if binding.show and is_enabled:
            shown.setdefault(
                binding.action,
                Content.from_markup(
                    f"[@click=app.simulate_key('{binding.key}')][bold $accent]$key[/] [$secondary]$what[/][/]",
                    key=app.get_key_display(binding),
                    what=binding.description,
                ),
            )
    return Content(" ").join(shown.values())
