"""Discrimination: 1.4 d shows, unless the pan sticks or the small weights are not what they say."""

from decimal import Decimal
from fractions import Fraction
from math import floor

import pytest

from scalewright.procedures.discrimination import DiscriminationTest
from scalewright.procedures.requests import Indication, PlaceLoad, StillReading, TakeIndication, TakeStillReading
from scalewright.procedures.run import Run
from tests.host.procedures.virtual_bench import carried_out, failing, loads, straight, under_test


@pytest.mark.parametrize(
    ("play_d", "passes"),
    # OIML R 76-1:2006, A.4.8.2, from memory: from just above the changeover point to I - d, 1.4 d must show as I + d.
    # Play w leaves 0.1 d + 1.4 d - w of the way; 1 d takes it to the next changeover point: w up to 0.4 d may pass.
    [("0", True), ("0.3", True), ("0.6", False), ("0.75", False), ("1.3", False), ("5", False)],
)
def test_a_pan_that_sticks_fails_by_how_much_it_sticks(play_d: str, passes: bool) -> None:
    """The ideal display of 1 g, behind a pan with play: it follows a load only once it has moved by the play."""
    play_g, felt_g, placed_g = Fraction(play_d), Fraction(0), Fraction(0)
    scale = under_test(straight())
    run = Run(lambda: DiscriminationTest(loads(1500)).steps(scale))
    while run.request is not None:
        match run.request:
            case PlaceLoad(load_g, added_g=added_g):
                placed_g = Fraction(load_g + added_g)
                felt_g = min(max(felt_g, placed_g - play_g), placed_g)
                run.answer(None)
            case TakeStillReading(readings):
                run.answer(StillReading(0, readings, 0, 0))
            case TakeIndication(_, _):
                run.answer(Indication(Decimal(floor(felt_g + Fraction(1, 2))), 0, 0))
            case _:
                run.answer(None)
    (outcome,) = run.outcomes
    assert outcome.passes is passes
    assert outcome.limit == 0


def test_a_good_scale_shows_it_at_min_half_and_max() -> None:
    run = carried_out(DiscriminationTest(loads(20, 1500, 3000)))  # Min of class III is 20 e (OIML R 76-1:2006, table 3)
    assert failing(run) == []
    assert len(run.outcomes) == 3
    assert all(found.final_g - found.initial_g == 1 for found in run.result.as_found[0])


def test_small_weights_that_are_too_light_do_not_show() -> None:
    """Whichever small weights come last, 1.4 d of them are hardly there."""
    wrong = [f"VIRTual:MASS {tenths / 10},-1.3" for tenths in range(14, 25)]
    run = carried_out(DiscriminationTest(loads(1500)), *wrong)
    assert failing(run) == ["change missing at 1500 g for 1.4 d"]
