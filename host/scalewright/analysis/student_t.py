"""How often chance alone goes so far: the tails of Student's t, without loading a heavy library."""

from math import atan2, cos, pi, sin, sqrt


def two_sided_tail(t: float, degrees_of_freedom: int) -> float:
    """Return the probability that |T| is |t| or more, right to about 1e-15.

    degrees_of_freedom: from 1. The same is the upper tail of F = t**2 with 1 and that many degrees of freedom.
    Source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions (1964), 26.7.3 and 26.7.4 (from memory;
    checked against scipy).
    """
    angle = atan2(abs(t), sqrt(degrees_of_freedom))
    odd = degrees_of_freedom % 2
    term = cos(angle) if odd else 1.0
    total = 0.0
    for k in range(1 + odd, degrees_of_freedom, 2):
        total += term
        term *= cos(angle) ** 2 * k / (k + 1)
    within = (2 / pi) * (angle + sin(angle) * total) if odd else sin(angle) * total
    return max(1.0 - within, 0.0)


def chance(p: float) -> str:
    """Return a probability in words."""
    return "less than 1 in 10000" if p < 1e-4 else f"about 1 in {1 / p:.0f}"
