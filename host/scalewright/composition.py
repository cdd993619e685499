"""Loads put together from the pieces of a mass set: which pieces, what they weigh, and how well that is known."""

from collections.abc import Sequence
from decimal import Context, Decimal, localcontext

from scalewright.equipment import MassSet, Piece
from scalewright.errors import InputError
from scalewright.procedures.requests import Load

_EXACT = Context(prec=60)  # of pieces from 1e-9 g to 1e9 g with 30 digits each
_SIX_DIGITS = Context(prec=6)
_MOST_SUMS = 4_000


def compose(masses: MassSet, nominal_g: Decimal) -> Load:
    """Return the load of this nominal value with the fewest pieces; of as many, those heavier and listed earlier.

    Raises InputError where no pieces of the set make exactly that.
    """
    if not nominal_g.is_finite() or nominal_g < 0:
        raise InputError(f"a load of {nominal_g} g; expected 0 or more")
    pieces = _fewest(masses, nominal_g)
    if pieces is None:
        names = ", ".join(piece.name for piece in masses.pieces)
        raise InputError(f"{nominal_g} g cannot be put together from mass set {masses.key}: {names}")
    return put_together(masses, [piece.name for piece in pieces])


def put_together(masses: MassSet, names: Sequence[str]) -> Load:
    """Return the load that these pieces make: the sum of their conventional masses, and its standard uncertainty.

    Uncertainties of pieces that were calibrated together add up arithmetically (JCGM 100:2008, F.1.2.3, example 2 of
    5.2.2: correlation 1; EURAMET cg-18 v4.0, 7.1.2; both from memory); with a lower correlation r
    u2 = r (sum of u)2 + (1 - r) sum of u2. None where that of a piece is not known. Six digits.
    Raises InputError for a piece that is not in the set, or there twice.
    """
    pieces = [masses.piece(name) for name in names]
    if len(set(names)) < len(names):
        raise InputError(f"{' + '.join(names)}; expected each piece of mass set {masses.key} once")
    u_g = [piece.u_g for piece in pieces]
    known = [u for u in u_g if u is not None]
    total_g = sum_g([piece.mass_g for piece in pieces])
    return Load(total_g, tuple(names), _combined(known, masses.correlation) if len(known) == len(pieces) else None)


def sum_g(amounts_g: Sequence[Decimal]) -> Decimal:
    """Return the sum, exact."""
    with localcontext(_EXACT):
        return sum(amounts_g, Decimal(0))


def _combined(u_g: Sequence[Decimal], correlation: Decimal) -> Decimal:
    with localcontext(_EXACT):
        together = sum(u_g, Decimal(0)) ** 2
        apart = sum((u**2 for u in u_g), Decimal(0))
        u2 = correlation * together + (1 - correlation) * apart
        return _SIX_DIGITS.plus(u2.sqrt())


def _fewest(masses: MassSet, wanted_g: Decimal) -> tuple[Piece, ...] | None:
    """Return the fewest pieces whose nominal values add up to this, None where none do.

    From the heaviest down, `best` has for each amount still missing the fewest pieces that lead there; amounts that
    the pieces to come cannot make up are dropped, which keeps it short.
    """
    pieces = sorted(masses.pieces, key=lambda piece: -piece.nominal_g)  # stable: of equal ones as they are listed
    best: dict[Decimal, tuple[int, ...]] = {wanted_g: ()}
    for place, piece in enumerate(pieces):
        with localcontext(_EXACT):
            taken = {missing_g - piece.nominal_g: (*chosen, place) for missing_g, chosen in best.items()}
        to_come_g = sum_g([later.nominal_g for later in pieces[place + 1 :]])
        best = {
            missing_g: min((sums[missing_g] for sums in (best, taken) if missing_g in sums), key=_order)
            for missing_g in best.keys() | taken.keys()
            if 0 <= missing_g <= to_come_g
        }
        if len(best) > _MOST_SUMS:
            raise InputError(f"mass set {masses.key} has too many combinations", remedy="choose the pieces by hand")
    return tuple(pieces[place] for place in best[Decimal(0)]) if Decimal(0) in best else None


def _order(chosen: tuple[int, ...]) -> tuple[int, tuple[int, ...]]:
    return len(chosen), chosen
