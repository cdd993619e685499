"""Loads from the pieces of a set: exact, with the fewest pieces there are, and as uncertain as the pieces together."""

from dataclasses import replace
from decimal import Decimal
from itertools import combinations
from math import sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scalewright.analysis.correlated import SetMass, combine
from scalewright.composition import compose, put_together
from scalewright.equipment import MassSet, Piece
from scalewright.errors import InputError


def set_of(*nominals: str, **fields: Decimal) -> MassSet:
    """A set of the invented bench, marked * and ** where a nominal value is there again."""
    pieces = [Piece(g + "*" * nominals[:n].count(g), Decimal(g)) for n, g in enumerate(nominals)]
    return MassSet("BOX", tuple(pieces), **fields)


def certified(*masses: tuple[str, str], correlation: str = "1") -> MassSet:
    """Pieces of 100 g with these conventional masses and standard uncertainties."""
    pieces = (Piece(f"p{n}", Decimal(100), Decimal(g), Decimal(u), Decimal(1)) for n, (g, u) in enumerate(masses))
    return MassSet("BOX", tuple(pieces), correlation=Decimal(correlation))


BOX = set_of("1", "2", "2", "5", "10", "20", "20", "50", "100", "200", "200", "500", "1000", "2000", "2000")


@pytest.mark.parametrize(
    ("load", "pieces"),
    [
        ("0", ()),
        ("3000", ("2000", "1000")),
        ("4000", ("2000", "2000*")),
        ("389", ("200", "100", "50", "20", "10", "5", "2", "2*")),
        ("5110", ("2000", "2000*", "1000", "100", "10")),
    ],
)
def test_the_heavier_and_earlier_piece_is_taken_first(load: str, pieces: tuple[str, ...]) -> None:
    assert compose(BOX, Decimal(load)).pieces == pieces


def test_the_greedy_choice_is_not_taken_where_it_leads_nowhere_or_to_more_pieces() -> None:
    """With 30 first, 40 is not to be made of 30, 20, 20; and 60 would take 5 pieces from 50 on."""
    assert compose(set_of("30", "20", "20"), Decimal(40)).pieces == ("20", "20*")
    assert compose(set_of("50", "30", "30", "5", "2", "2", "1"), Decimal(60)).pieces == ("30", "30*")


usual = st.sampled_from(["0.1", "0.2", "0.5", "1", "2", "2.5", "3", "5", "7.3", "10"])
nominals = st.lists(usual, min_size=1, max_size=7)


@settings(max_examples=50)
@given(nominals, st.integers(0, 200))
def test_it_is_as_few_pieces_as_trying_every_choice_finds(grams: list[str], tenths: int) -> None:
    masses, wanted = set_of(*grams), Decimal(tenths) / 10
    choices = (choice for n in range(len(grams) + 1) for choice in combinations(masses.pieces, n))
    fewest = next((c for c in choices if sum((piece.nominal_g for piece in c), Decimal(0)) == wanted), None)
    if fewest is None:
        with pytest.raises(InputError, match="g cannot be put together from mass set BOX"):
            compose(masses, wanted)
    else:
        load = compose(masses, wanted)
        assert len(load.pieces) == len(fewest)
        assert compose(set_of(*grams), wanted) == load
        assert sum((masses.piece(name).nominal_g for name in load.pieces), Decimal(0)) == load.load_g == wanted


amounts = st.decimals("99.9", "100.1", places=9)
uncertainties = st.decimals("1e-9", "1e-2", places=9)


@settings(max_examples=50)
@given(st.lists(st.tuples(amounts, uncertainties), min_size=1, max_size=6), st.sampled_from(["0", "0.5", "1"]))
def test_the_sum_is_exact_and_its_uncertainty_is_that_of_the_covariance_matrix(
    pieces: list[tuple[Decimal, Decimal]], correlation: str
) -> None:
    """Held against `analysis.correlated`, which forms the matrix of all pieces (JCGM 100:2008, 5.2.2, in numpy)."""
    masses = certified(*((str(g), str(u)) for g, u in pieces), correlation=correlation)
    names = [piece.name for piece in masses.pieces]
    load = put_together(masses, names)
    assert load.load_g == sum((g for g, _ in pieces), Decimal(0))
    by_name = {name: SetMass(g, u) for name, (g, u) in zip(names, pieces, strict=True)}
    assert load.u_load_g is not None
    assert float(load.u_load_g) == pytest.approx(combine(by_name, [names], float(correlation)).u_loads_g[0], rel=2e-5)


def test_pieces_calibrated_together_add_up_arithmetically() -> None:
    """JCGM 100:2008, 5.2.2, example (from memory): ten resistors of u = 100 mohm from one standard make 1 ohm."""
    ten = [(f"100.{n}", "0.1") for n in range(10)]
    names = [f"p{n}" for n in range(10)]
    assert put_together(certified(*ten), names).u_load_g == 1
    apart = put_together(certified(*ten, correlation="0"), names).u_load_g
    assert apart is not None
    assert float(apart) == pytest.approx(0.1 * sqrt(10), rel=1e-5)  # the same example, were they independent: 0.32 ohm


def test_a_piece_nothing_is_known_of_leaves_the_uncertainty_open() -> None:
    masses = certified(("100.1", "0.1"))
    unknown = replace(masses, pieces=(*masses.pieces, Piece("new", Decimal(100))))
    assert put_together(unknown, ["p0", "new"]).u_load_g is None
    assert put_together(unknown, ["p0"]).u_load_g is not None


def test_digits_beyond_the_usual_precision_are_not_lost() -> None:
    pieces = (Piece("1 t", Decimal(1_000_000)), Piece("small", Decimal("1e-9")))
    load = compose(MassSet("BOX", pieces), Decimal("1000000.000000001"))
    assert (load.pieces, load.load_g) == (("1 t", "small"), Decimal("1000000.000000001"))


@pytest.mark.parametrize(
    ("names", "complaint"),
    [(["p0", "p0"], "each piece of mass set BOX once"), (["p1"], "mass set BOX has no piece 'p1'; expected one of p0")],
)
def test_a_piece_twice_or_from_elsewhere_is_refused(names: list[str], complaint: str) -> None:
    with pytest.raises(InputError, match=complaint):
        put_together(certified(("100", "0.1")), names)


def test_a_set_with_more_combinations_than_can_be_tried_says_so() -> None:
    odd = tuple(Piece(f"p{n}", Decimal(100_000 + 7919 * n * n % 99_991) / 1000) for n in range(40))
    with pytest.raises(InputError, match="too many combinations"):
        compose(MassSet("ODD", odd), Decimal("3000.001"))
