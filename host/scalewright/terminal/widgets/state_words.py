"""Is it still, net or gross, at zero? In words and signs, never by colour alone."""

from textual.content import Content
from textual.widgets import Static

from scalewright.link.diagnosis import MEANINGS
from scalewright.link.reading import Reading
from scalewright.terminal.bench import Bench
from shared_calc.reading import AT_ZERO, COMPENSATION_HELD, MOVING, NET, REJECTED


def words_for(reading: Reading, *, is_calibrated: bool) -> list[tuple[str, str]]:
    """Return words with the theme colour that helps them."""
    if reading.indication_g is None:
        return [(_fault_of(reading), "bold $error")] if is_calibrated else [("raw counts", "$accent")]
    is_moving = reading.flags & MOVING
    found = [("~ moving", "bold $accent") if is_moving else ("■ still", "bold $success")]
    found.append(("NET", "bold") if reading.flags & NET else ("gross", "$secondary"))
    if reading.flags & AT_ZERO:
        found.append(("→0← at zero", "$foreground"))
    if reading.flags & REJECTED:
        found.append(("REJECTED: failed its verification", "bold $error"))
    if reading.flags & COMPENSATION_HELD:
        found.append(("temperature outside its compensation", "bold $error"))
    return found


def _fault_of(reading: Reading) -> str:
    name = reading.faults.split("|")[0]
    return f"{name}: {MEANINGS[name][0]}" if name in MEANINGS else name


def number_of(bench: Bench) -> tuple[str, str]:
    """Return what the scale shows and its unit: raw counts where it is not calibrated, dashes where nothing."""
    latest = bench.latest
    if latest is None:
        return "-----", ""
    if not bench.is_calibrated:
        return ("-----" if latest.counts is None else str(latest.counts)), "counts"
    return ("-----", "") if latest.indication_g is None else (str(latest.indication_g), "g")


class StateWords(Static):
    """One line of them."""

    _shown: object = None

    def show(self, bench: Bench) -> None:
        """Say how it stands with the latest reading; where that is as before, nothing is drawn anew."""
        words = words_for(bench.latest, is_calibrated=bench.is_calibrated) if bench.latest else []
        if words != self._shown:
            self._shown = words
            self.update(Content("    ").join(Content.styled(word, style) for word, style in words), layout=False)
