"""The limits of a scale as stretches of its range with one limit each, for the plot."""

from fractions import Fraction

from scalewright.certificates.document import LimitStep
from scalewright.procedures.scale_under_test import Held

_MOST = 60


def limit_steps(held: Held, max_g: Fraction, interval_g: Fraction) -> tuple[LimitStep, ...]:
    """Return the steps from zero to Max; they change at multiples of interval_g.

    Limits that run in a line have more steps than any picture shows: of them every sixtieth of the range is taken.
    """
    intervals = max(int(max_g / interval_g), 1)
    steps: list[LimitStep] = []
    done = 0
    while done < intervals and len(steps) < _MOST:
        limit_g = _limit_g(held, (done + 1) * interval_g)
        low, high = done + 1, intervals
        while low < high:  # the last interval that has this limit, taking it that limits do not come back
            middle = (low + high + 1) // 2
            low, high = (middle, high) if _limit_g(held, middle * interval_g) == limit_g else (low, middle - 1)
        steps.append(LimitStep(low * interval_g, limit_g))
        done = low
    return tuple(steps) if done == intervals else _sampled(held, max_g)


def _sampled(held: Held, max_g: Fraction) -> tuple[LimitStep, ...]:
    ends = [max_g * k / _MOST for k in range(1, _MOST + 1)]
    return tuple(LimitStep(end, _limit_g(held, end)) for end in ends)


def _limit_g(held: Held, load_g: Fraction) -> Fraction:
    return held.limits.permissible_error_g(load_g, in_service=held.in_service)
