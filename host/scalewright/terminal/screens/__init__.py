"""One file a screen. A further one is a file here and a row in this table; it is imported when it is first shown."""

from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from scalewright.terminal.bench import Bench
    from scalewright.terminal.screens.frame import BenchScreen


class Entry(NamedTuple):
    """A screen of the navigation, in its order."""

    key: str
    title: str
    module: str
    class_name: str


SCREENS = {
    "connect": Entry("1", "Connect", "connect", "ConnectScreen"),
    "weigh": Entry("2", "Weigh", "weigh", "WeighScreen"),
    "calibrate": Entry("3", "Calibrate", "calibrate", "CalibrateScreen"),
    "test": Entry("4", "Test", "test", "TestScreen"),
    "records": Entry("5", "Records", "records", "RecordsScreen"),
    "masses": Entry("6", "Masses", "masses", "MassesScreen"),
    "scales": Entry("7", "Scales", "scales", "ScalesScreen"),
    "drift": Entry("8", "Drift", "drift", "DriftScreen"),
}


def load_screens() -> None:
    """Import every screen, so that going to one is quick; meant for a thread, once the first one is shown."""
    for entry in SCREENS.values():
        import_module(f"scalewright.terminal.screens.{entry.module}")


def make_screen(name: str, bench: "Bench") -> "BenchScreen":
    """Return a new screen of this name."""
    entry = SCREENS[name]
    module = import_module(f"scalewright.terminal.screens.{entry.module}")
    screen: BenchScreen = getattr(module, entry.class_name)(bench)
    return screen
