"""What the errors over the range point to: a mass, a loop, a slope or a bend."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from scalewright.procedures.faults import Suspicion, more, signed
from scalewright.procedures.odd_mass import odd_mass
from scalewright.procedures.range_check import Step, hysteresis
from scalewright.procedures.requests import Load


def signs_over_range(loads: Sequence[Load], steps: Sequence[Step]) -> Iterator[Suspicion]:
    """Yield the first that explains errors beyond their limits, of the narrowest cause to the widest."""
    found = _odd(loads, steps) or _loop(steps) or _slope(steps) or _bend(steps)
    if found is not None:
        yield found


def _odd(loads: Sequence[Load], steps: Sequence[Step]) -> Suspicion | None:
    odd = odd_mass(loads, steps)
    if odd is None:
        return None
    seen = f"with {' or '.join(odd.names)} on, the scale shows {more(odd.error_g)}"
    return Suspicion("bad reference mass", f"{seen} than a smooth curve through the others")


def _loop(steps: Sequence[Step]) -> Suspicion | None:
    """Up and down differ, yet the zero comes back."""
    widths, limits = hysteresis(steps), {step.load_g: step.limit_g for step in steps}
    if not widths:
        return None
    widest = max(widths, key=lambda load_g: abs(widths[load_g]))
    width_g, zero_g = widths[widest], widths[min(widths)]
    if abs(width_g) <= limits[widest] or abs(zero_g) >= abs(width_g) / 2:
        return None
    seen = f"{widest} g reads {more(width_g)} on the way down than on the way up"
    return Suspicion("hysteresis", f"{seen}, and the zero comes back to {signed(zero_g)}")


def _slope(steps: Sequence[Step]) -> Suspicion | None:
    """All errors are one part of the load."""
    squares = sum(Fraction(step.load_g) ** 2 for step in steps)
    slope = sum(Fraction(step.load_g) * step.error_g for step in steps) / squares if squares else Fraction(0)
    top = max(steps, key=lambda step: step.load_g)
    most_g = slope * Fraction(top.load_g)
    rest = [step.error_g - slope * Fraction(step.load_g) for step in steps]
    if abs(most_g) <= top.limit_g or any(abs(g) > s.limit_g for g, s in zip(rest, steps, strict=True)):
        return None
    part = f"{float(abs(slope)) * 100:.2g} % {'high' if slope > 0 else 'low'}"
    return Suspicion("wrong span", f"all loads read {part}: {signed(most_g)} at {top.load_g} g")


def _bend(steps: Sequence[Step]) -> Suspicion | None:
    """All errors between zero and the heaviest load lie on one side of the line between these two."""
    top = max(steps, key=lambda step: step.load_g)
    inner = [step for step in steps if 0 < step.load_g < top.load_g]
    off = [step.error_g - top.error_g * Fraction(step.load_g) / Fraction(top.load_g) for step in inner]
    is_shifted = any(abs(step.error_g) > step.limit_g for step in steps if not step.load_g)
    if not off or min(off) < 0 < max(off) or is_shifted:
        return None
    step, worst_g = max(zip(inner, off, strict=True), key=lambda each: abs(each[1]))
    if abs(worst_g) <= step.limit_g:
        return None
    return Suspicion("bent", f"{step.load_g} g reads {more(worst_g)} than the line from zero to {top.load_g} g")
