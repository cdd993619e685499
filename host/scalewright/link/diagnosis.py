"""What the faults that a device names mean, and what to check, in this order."""

from dataclasses import dataclass

from scalewright.errors import LinkError
from scalewright.link.scale import Scale

MAINS_CAUTION = "Unplug the supply before touching any wire; never work on mains wiring."

# name -> (what it means, what to check: the likeliest and easiest first). Common practice, not from a standard.
MEANINGS: dict[str, tuple[str, tuple[str, ...]]] = {
    "NO_DATA": (
        "the ADC gives no conversions",
        (
            "is the ADC's supply there, and its ground joined with the board's?",
            "do data and clock go to the pins that the board file names, and not to each other's?",
            "is a pin of the plug bent or a solder joint cold? Press on each wire and see whether data comes",
            "is the ADC's power-down line free, or driven as its datasheet asks?",
        ),
    ),
    "BAD_FRAME": (
        "conversions arrive outside the ADC's timing limits",
        ("is the clock line short, and away from motors and supplies?", "does other work on the board hold it up?"),
    ),
    "STUCK_DATA_LINE": (
        "the data line always says that a conversion is ready",
        ("does the data line touch ground?", "is the ADC without supply, so that it holds its line down?"),
    ),
    "SATURATED": (
        "the input of the ADC is beyond its range",
        (
            "take every load off the scale: does it go away?",
            "is one of the two signal wires open? Measure between them, supply off: often 350 or 1000 ohms",
            "does a signal wire touch excitation or ground?",
            "is the gain right for a cell of this mV/V?",
            "has the cell been overloaded? Its zero balance then stays far off",
        ),
    ),
    "OPEN_EXCITATION": (
        "the cell gives no signal at all",
        (
            "is there a voltage between the two excitation wires at the cell?",
            "are both excitation wires joined, and not swapped with the signal wires?",
            "does the ADC switch the excitation off to save power?",
        ),
    ),
    "SWAPPED_SIGNAL": (
        "the reading is far below zero",
        (
            "is the platform on, and nothing pulling it up?",
            "put a load on: if the reading falls, the two signal wires are swapped; change them over",
            "or the excitation wires are swapped, which does the same",
            "are these the coefficients of this cell?",
        ),
    ),
    "FLOATING_INPUT": (
        "the readings jump far more than the ADC's own noise",
        (
            "are both signal wires joined to the ADC?",
            "is the platform at rest, and free of draughts and vibration?",
            "is the shield joined to ground at one end only?",
            "is the supply of the ADC quiet? Try a battery",
        ),
    ),
    "MAINS_PICKUP": (
        "the readings swing at the beat of the mains frequency with the rate of conversion",
        (
            MAINS_CAUTION,
            "lead the cell's cable away from mains cables, transformers and dimmers; cross them at right angles",
            "is the cable shielded, and the shield joined to ground at one end?",
            "try another power supply for the board, or a battery",
            "set the ADC to 10 conversions a second, where its filter suppresses the mains",
        ),
    ),
    "DRIFTING": (
        "the reading has gone one way for minutes",
        (
            "was a load put on, or the supply switched on, in the last half hour? Creep and warm-up come to an end",
            "does the sun, a heater or a draught warm the cell?",
            "does something lean on the platform, or does the load lose or take up water?",
            "is the cell damp, or has it been overloaded?",
        ),
    ),
    "OVERLOADED": (
        "since its start more than a fifth above Max was put on",
        (
            "is the zero where it was, with the scale empty?",
            "check every step of the range before the scale is relied on again: scalewright check",
            "set the overload stops, or mark Max where people see it",
        ),
    ),
    "UNCALIBRATED": ("there are no coefficients in use", ("adjust it: scalewright calibrate",)),
    "OVER_RANGE": ("more than Max is on the scale", ("take load off; never stand under a lifted load",)),
    "UNDER_RANGE": ("the reading is below what the coefficients cover", ("is the platform on?",)),
}


@dataclass(frozen=True)
class Finding:
    """A fault that the device sees."""

    name: str
    meaning: str
    checks: tuple[str, ...]
    """In the order to make them."""


@dataclass(frozen=True)
class DeviceDiagnosis:
    """What the device makes of its counts."""

    findings: tuple[Finding, ...]
    noise_counts: int | None
    """None: too few readings."""
    smallest_counts: int | None
    """Since the start of the device."""
    largest_counts: int | None

    @classmethod
    def read(cls, scale: Scale) -> "DeviceDiagnosis":
        """Ask the device. Raises LinkError where its answer makes no sense."""
        text = scale.ask("DIAGnostic?")
        try:
            names, *figures = text.split(",")
            findings = [Finding(name, *MEANINGS[name]) for name in names.split("|") if name != "OK"]
            return cls(tuple(findings), *(int(figure) if figure else None for figure in figures))
        except (ValueError, KeyError, TypeError) as error:
            raise LinkError(f"the diagnosis makes no sense: {text[:80]}", port=scale.url) from error
