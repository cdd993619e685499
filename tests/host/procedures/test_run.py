"""A run stands where the kept answers end, and asks the same questions again."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from scalewright.procedures.adjustment import Adjustment, MultiPoint, ScaleDesign
from scalewright.procedures.loads import directions, up_and_down
from scalewright.procedures.requests import Answer, PlaceLoad, Request, StillReading, StoreCoefficients
from scalewright.procedures.run import Procedure, Run

DESIGN = ScaleDesign(Decimal(3000), (1, 0), 2)
LOADS = up_and_down(DESIGN.max_g, 4)


def answer_to(request: Request, load_g: Decimal) -> Answer:
    """Answer as a perfect cell of 850 counts a gram would."""
    if isinstance(request, PlaceLoad):
        return None
    if isinstance(request, StoreCoefficients):
        return request.data
    return StillReading(int(16 * (100_000 + 850 * load_g)), 16, 0, 0)


def carry_out(run: Run[Adjustment], limit: int = 10_000) -> list[Answer]:
    """Answer up to `limit` requests and return the answers."""
    answers: list[Answer] = []
    load_g = Decimal(0)
    while run.request is not None and len(answers) < limit:
        load_g = run.request.load_g if isinstance(run.request, PlaceLoad) else load_g
        answers.append(answer_to(run.request, load_g))
        run.answer(answers[-1])
    return answers


def procedure() -> Procedure[Adjustment]:
    return MultiPoint(DESIGN, LOADS, 16).steps(None)


@given(st.integers(0, 18))
def test_a_run_that_was_broken_off_anywhere_ends_in_the_same_result(broken_off_after: int) -> None:
    whole: Run[Adjustment] = Run(procedure)
    answers = carry_out(whole)
    resumed: Run[Adjustment] = Run(procedure, answers[:broken_off_after])
    for answer in answers[broken_off_after:]:
        assert resumed.request is not None
        resumed.answer(answer)
    assert resumed.request is None
    assert resumed.result == whole.result


def test_loads_go_up_to_max_and_down_to_zero() -> None:
    assert [int(load.load_g) for load in LOADS] == [0, 750, 1500, 2250, 3000, 2250, 1500, 750, 0]
    assert directions([load.load_g for load in LOADS]) == ["up"] * 5 + ["down"] * 4


@given(st.integers(1, 18), st.data())
def test_taking_answers_back_leads_to_where_they_were_asked_for(answered: int, data: st.DataObject) -> None:
    run: Run[Adjustment] = Run(procedure)
    carry_out(run, answered)
    back = data.draw(st.integers(0, answered))
    assert run.without_last(back).request == (run.answered[answered - back][0] if back else run.request)


def test_what_was_last_put_on_is_what_must_be_on_still() -> None:
    run: Run[Adjustment] = Run(procedure)
    carry_out(run, 3)
    assert run.settings == [PlaceLoad(Decimal(750))]
