"""What stops work that could not be relied on: masses, scales and instruments looked at before a job begins.

Each function returns objections, none where all is well. Work goes on past an objection only for a reason that is kept
with the job: `overridden`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from scalewright.composition import sum_g
from scalewright.equipment import STATES, Certificate, DeviceState, Instrument, Limits, MassSet, Piece, RegisteredScale
from scalewright.errors import InputError, ProcedureError
from scalewright.procedures.job import Override
from scalewright.procedures.requests import Load

GUARDS = {
    "mass overdue": "a mass set is past its due date",
    "mass without certificate": "nothing says what a mass set is worth",
    "mass beyond certificate": "the certificate of a mass set has no value for a piece, or ends below it",
    "mass too coarse": "masses may be wrong by more than a third of what the scale may be",
    "mass too uncertain": "the uncertainty of the masses is more than a third of what the scale may be wrong by",
    "mass retired": "a mass set is no longer in use",
    "another scale": "the device is not the one that is registered",
    "scale adjusted": "event counter or coefficients are not those last seen: somebody changed the scale in between",
    "seal opened": "the seal was on when the scale was last seen",
    "range differs": "the device has another Max or d than is registered",
    "scale overdue": "a scale is past its due date",
    "scale retired": "a scale is no longer in use",
    "instrument overdue": "an instrument is past its due date",
    "instrument without certificate": "nothing says how right an instrument is",
    "instrument retired": "an instrument is no longer in use",
}
"""name -> what is wrong where it objects"""
_BY_VALUE = ("E1", "E2")  # OIML R 76-1:2006, 3.7.1: of these the uncertainty counts where the value is used


@dataclass(frozen=True)
class Objection:
    """Why the work should not go on."""

    guard: str
    """one of GUARDS"""
    reason: str
    """what was found, and what was expected"""
    remedy: str

    def __str__(self) -> str:
        return f"{self.guard}: {self.reason}"


def check_masses(masses: MassSet, on: date) -> list[Objection]:
    """Return what keeps a mass set from being used on a day."""
    return _kept("mass", f"mass set {masses.key}", masses.state, masses.certificate, on)


def check_instrument(instrument: Instrument, on: date) -> list[Objection]:
    """Return what keeps an instrument from being used on a day."""
    return _kept("instrument", f"{instrument.kind} {instrument.key}", instrument.state, instrument.certificate, on)


def check_scale(scale: RegisteredScale, due: date | None, on: date, why: str = "") -> list[Objection]:
    """Return what keeps a scale from being used on a day; why: where its due date comes from, if that needs saying."""
    found = _retired("scale", f"scale {scale.key}", scale.state)
    if due is not None and due < on:
        reason = f"scale {scale.key} was due on {due}, today is {on}" + (f": {why}" if why else "")
        found.append(Objection("scale overdue", reason, "calibrate it first"))
    return found


def check_device(scale: RegisteredScale, now: DeviceState, last: DeviceState | None) -> list[Objection]:
    """Return what is not as it was with the device behind the port; last: as last seen, None where it never was."""
    for name in ("serial_number", "model"):
        answers, expected = getattr(now, name), getattr(scale, name)
        if answers != expected:
            what = name.replace("_", " ")
            reason = f"{what} {answers} answers, expected {expected}, which is scale {scale.key}"
            return [Objection("another scale", reason, "check the port, or choose the scale that is there")]
    return [*_changes(scale, now, last), *_range(scale, now)]


def check_loads(
    masses: MassSet, loads: Sequence[Load], limits: Limits, *, in_service: bool = False
) -> list[Objection]:
    """Return what keeps loads of this set from telling whether a scale is within its limits; worst load first named.

    One-third rule: the error of the weights, which is the maximum permissible error of their class, is at most a third
    of the scale's for the load; of classes E1 and E2 their uncertainty, as their values are used (OIML R 76-1:2006,
    3.7.1, from memory). Of masses without a class the uncertainty counts too. Where all values are certified, the
    actual U (k = 2) must keep to a third as well (common practice). Limits are those at the nominal load.
    """
    made = [_Made.of(load, masses, limits, in_service) for load in loads if load.load_g]
    used = list(dict.fromkeys(piece for load in made for piece in load.pieces))
    coarse = [(load.error_g, load) for load in made if load.error_g is not None]
    uncertain = [(load.expanded_u_g, load) for load in made if load.expanded_u_g is not None]
    return [
        *_beyond(masses, used),
        *_over_a_third("mass too coarse", "may be wrong by {} g (OIML R 76-1:2006, 3.7.1)", coarse),
        *_over_a_third("mass too uncertain", "is known to U = {} g (k = 2)", uncertain),
    ]


def overridden(objections: Sequence[Objection], reasons: Mapping[str, str]) -> tuple[Override, ...]:
    """Return the objections that were set aside, as a job keeps them; reasons: by the name of the guard.

    Raises ProcedureError naming the first objection without a reason, InputError for a reason that is not a line of
    text or a guard that does not exist.
    """
    for guard, reason in reasons.items():
        if guard not in GUARDS:
            raise InputError(f"guard {guard[:40]!a}; expected one of {', '.join(GUARDS)}")
        if not reason.strip() or not reason.isprintable():
            raise InputError(f"the reason to set {guard!r} aside is {reason[:40]!a}; expected a line of text")
    for objection in objections:
        if objection.guard not in reasons:
            raise ProcedureError(str(objection), f"{objection.remedy}; or give a reason to go on, which is recorded")
    return tuple(Override(each.guard, each.reason, reasons[each.guard].strip()) for each in objections)


def _kept(what: str, named: str, state: str, certificate: Certificate | None, on: date) -> list[Objection]:
    found = _retired(what, named, state)
    if certificate is None:
        found.append(Objection(f"{what} without certificate", f"{named} has no certificate", "have it calibrated"))
    elif certificate.due is not None and certificate.due < on:
        reason = f"{named} was due on {certificate.due}, today is {on}"
        found.append(Objection(f"{what} overdue", reason, "have it calibrated, or use another"))
    return found


def _retired(what: str, named: str, state: str) -> list[Objection]:
    return [] if state == STATES[0] else [Objection(f"{what} retired", f"{named} is retired", "use another")]


def _changes(scale: RegisteredScale, now: DeviceState, last: DeviceState | None) -> Iterator[Objection]:
    if last is None:
        return
    if (now.events, now.coefficients) != (last.events, last.coefficients):
        reason = (
            f"scale {scale.key} shows event {now.events} and coefficients {now.coefficients}; "
            f"on {last.at[:10]} it was event {last.events} and {last.coefficients}"
        )
        remedy = "see who changed it (scalewright seal --show lists the events), and register it as it is now"
        yield Objection("scale adjusted", reason, remedy)
    was_sealed = last.sealed if last.sealed is not None or scale.seen is None else scale.seen.sealed
    if was_sealed and now.sealed is False:
        reason = f"the seal of scale {scale.key} is open; it was on when last looked at"
        yield Objection("seal opened", reason, "see who opened it, and seal it again once it is as it should be")


def _range(scale: RegisteredScale, now: DeviceState) -> Iterator[Objection]:
    if None in (now.max_g, now.d_g) or (now.max_g, now.d_g) == (scale.max_g, scale.d_g):
        return
    reason = f"Max {now.max_g} g and d {now.d_g} g in the device; scale {scale.key} is registered with "
    yield Objection("range differs", f"{reason}{scale.max_g} g and {scale.d_g} g", "correct the one that is wrong")


def _beyond(masses: MassSet, used: Sequence[Piece]) -> Iterator[Objection]:
    """A certificate without any value is one of conformity: it holds for pieces that have a class."""
    if masses.certificate is None:
        return
    has_values = any(piece.conventional_mass_g is not None for piece in masses.pieces)
    up_to_g = masses.certificate.up_to_g
    named = f"certificate {masses.certificate.number} of mass set {masses.key}"
    for piece in used:
        if piece.conventional_mass_g is None and (has_values or not piece.weight_class):
            reason = f"{named} has no value for piece {piece.name}"
        elif up_to_g is not None and piece.nominal_g > up_to_g:
            reason = f"{named} is for up to {up_to_g} g; piece {piece.name} has {piece.nominal_g} g"
        else:
            continue
        yield Objection("mass beyond certificate", reason, "use other pieces, or have it calibrated")


@dataclass(frozen=True)
class _Made:
    """A load beside what the scale may be wrong by there."""

    pieces: tuple[Piece, ...]
    nominal_g: Fraction
    limit_g: Fraction
    error_g: Fraction | None
    """how wrong it may be; None where nothing is known of a piece"""
    expanded_u_g: Fraction | None
    """None where not all of it is certified"""

    @classmethod
    def of(cls, load: Load, masses: MassSet, limits: Limits, in_service: bool) -> "_Made":
        pieces = tuple(masses.piece(name) for name in load.pieces)
        nominal_g = Fraction(sum_g([piece.nominal_g for piece in pieces]))
        limit_g = limits.permissible_error_g(nominal_g, in_service=in_service)
        errors = [error for error in map(_error_g, pieces) if error is not None]
        error_g = sum(errors, Fraction(0)) if len(errors) == len(pieces) else None
        is_certified = all(piece.conventional_mass_g is not None for piece in pieces)
        u_g = load.u_load_g if is_certified else None
        return cls(pieces, nominal_g, limit_g, error_g, None if u_g is None else 2 * Fraction(u_g))


def _error_g(piece: Piece) -> Fraction | None:
    if piece.expanded_u_g is not None and piece.u_g is not None and piece.weight_class in ("", *_BY_VALUE):
        return 2 * Fraction(piece.u_g)
    return piece.class_error_g


def _over_a_third(guard: str, words: str, amounts: Sequence[tuple[Fraction, _Made]]) -> Iterator[Objection]:
    """Object once, at the load where the amount is the largest share of the limit."""
    over = [(amount_g / load.limit_g, amount_g, load) for amount_g, load in amounts if 3 * amount_g > load.limit_g]
    if over:
        _, amount_g, load = max(over, key=lambda each: each[0])
        names = " + ".join(piece.name for piece in load.pieces)
        limit = f"a third of the limit {float(load.limit_g):.3g} g is {float(load.limit_g / 3):.3g} g"
        at = f"at {float(load.nominal_g):.9g} g ({names}) the mass {words.format(f'{float(amount_g):.3g}')}"
        yield Objection(guard, f"{at}; {limit}; so at {len(over)} of the loads", "use masses of a better class")
