"""Which tests make up a verification, and the loads of each, for a scale of given data."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from scalewright.equipment import Limits
from scalewright.errors import InputError
from scalewright.influence_limits import R76_RANGE_C
from scalewright.procedures.calibration import Test
from scalewright.procedures.changeover import ChangeoverTest
from scalewright.procedures.creep import CreepTest
from scalewright.procedures.discrimination import DiscriminationTest
from scalewright.procedures.eccentricity import EccentricityTest, load_for, places_for
from scalewright.procedures.loads import up_and_down
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.repeatability import RepeatabilityTest
from scalewright.procedures.requests import Load
from scalewright.procedures.substitution import SubstitutionTest
from scalewright.procedures.temperature import TemperatureTest
from scalewright.procedures.tilt import TiltTest
from scalewright.procedures.warm_up import WarmUpTest
from scalewright.procedures.zero_and_tare import TareTest, ZeroSettingTest
from scalewright.tolerances import AccuracyClass

_REFERENCE_C = 20
_MIN_E = 20  # Min of class III (OIML R 76-1:2006, table 3)
# Reference, hot, cold, 5 °C, reference again (OIML R 76-1:2006, A.5.3.1, from memory)
AIRS_C = tuple(map(Decimal, (_REFERENCE_C, R76_RANGE_C[1], R76_RANGE_C[0], 5, _REFERENCE_C)))


@dataclass(frozen=True)
class ToVerify:
    """What is known of the scale and of how thoroughly it is tested."""

    max_g: Decimal
    min_g: Decimal
    pan: str
    supports: int
    load: Callable[[Decimal], Load]
    """makes the load of a nominal value"""
    steps: int = 5
    """even loads up to Max"""
    times: int = 5
    """weighings in a series"""
    airs_c: tuple[Decimal, ...] = AIRS_C
    off_s: int = 8 * 3600
    """how long it is switched off before the warm-up"""
    look_every_s: int = 300
    """how often to look whether it has followed the temperature of the air"""
    per_mille: int = 50
    """how far out of level"""
    off_centre_g: Decimal | None = None
    """of the eccentricity test; None: as OIML R 76 has it"""
    reference_g: Decimal | None = None
    """all the reference masses there are, where ballast is to make up for more"""

    @property
    def full(self) -> Load:
        """Max."""
        return self.load(self.max_g)

    @property
    def half(self) -> Load:
        """Half of Max."""
        return self.load(self.max_g / 2)

    @property
    def reference(self) -> Load:
        """The reference masses. Raises InputError where there is nothing said of them."""
        if self.reference_g is None:
            raise InputError("nothing says how many grams of reference masses there are; expected with substitution")
        return self.load(self.reference_g)

    @property
    def up_and_down(self) -> tuple[Load, ...]:
        """The steps of the range."""
        return tuple(self.load(load.load_g) if load.load_g else load for load in up_and_down(self.max_g, self.steps))


TESTS: dict[str, Callable[[ToVerify], Test]] = {
    "range": lambda s: RangeCheck(s.up_and_down),
    "repeatability": lambda s: RepeatabilityTest((s.half, s.full), s.times),
    "eccentricity": lambda s: EccentricityTest(
        s.load(s.off_centre_g or load_for(s.max_g, s.supports)), places_for(s.pan, s.supports)
    ),
    "discrimination": lambda s: DiscriminationTest((s.load(s.min_g), s.half, s.full)),
    "changeover": lambda s: ChangeoverTest(s.up_and_down),
    "zero": lambda _: ZeroSettingTest(),
    "tare": lambda s: TareTest(Load(s.max_g / 2), (s.half,)),
    "substitution": lambda s: SubstitutionTest(s.reference, max(1, int(s.max_g / s.reference.load_g))),
    "tilt": lambda s: TiltTest((s.half, s.full), s.per_mille),
    "creep": lambda s: CreepTest(s.full),
    "warm-up": lambda s: WarmUpTest(s.full, s.off_s),
    "temperature": lambda s: TemperatureTest(s.airs_c, (s.half, s.full), s.look_every_s),
}
"""name -> what makes the test"""
SETS = {
    "quick": ("range", "eccentricity"),
    "usual": ("range", "repeatability", "eccentricity", "discrimination"),
    "full": ("range", "repeatability", "eccentricity", "discrimination", "zero", "tare", "creep"),
    "laboratory": tuple(name for name in TESTS if name not in ("changeover", "substitution")),
}
"""The usual sets (common practice); what each test holds the scale against, it names itself."""


def min_of(limits: Limits, division_g: Fraction) -> Decimal:
    """Return Min in grams by the accuracy class; where the limits know none, as class III has it."""
    by_class_g = limits.min_g if isinstance(limits, AccuracyClass) else None
    min_g = by_class_g or _MIN_E * division_g
    return Decimal(min_g.numerator) / min_g.denominator


def names_of(words: str) -> tuple[str, ...]:
    """Return the tests in a set, or in a list with commas. Raises InputError."""
    if words in SETS:
        return SETS[words]
    names = tuple(dict.fromkeys(word.strip() for word in words.split(",")))
    for name in names:
        if name not in TESTS:
            raise InputError(f"test {name[:40]!a}; expected one of {', '.join(SETS)}, or of {', '.join(TESTS)}")
    return names


def chosen(names: Sequence[str], scale: ToVerify) -> tuple[Test, ...]:
    """Return the tests; eccentricity is left out where the load hangs below one point."""
    return tuple(TESTS[name](scale) for name in names if name != "eccentricity" or scale.pan != "suspended")
