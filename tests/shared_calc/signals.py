"""What an ADC may give: any counts at all, and loads as they come with their noise."""

import random
from collections.abc import Iterator

from hypothesis import strategies as st

from shared_calc.measuring_chain import COUNTS_MAX, COUNTS_MIN

good_counts = st.integers(COUNTS_MIN + 1, COUNTS_MAX - 1)


@st.composite
def histories(draw: st.DrawFn, longest: int = 40) -> list[int]:
    """Pieces of level, drift, alternation, spikes and anything, so that a filter's parts are all called on."""
    counts: list[int] = []
    level = draw(good_counts)
    for _ in range(draw(st.integers(1, 8))):
        kind = draw(st.sampled_from(["level", "step", "ramp", "alternate", "spike", "anything"]))
        number = draw(st.integers(1, longest))
        size = draw(st.integers(-(1 << draw(st.integers(0, 24))), 1 << 24))
        if kind == "step":
            level += size
        steps = {"ramp": [size * k // 64 for k in range(number)], "alternate": [size * (k % 2) for k in range(number)]}
        steps["spike"] = [size] + [0] * (number - 1)
        piece = [level + step for step in steps.get(kind, [0] * number)]
        counts += draw(st.lists(good_counts, max_size=8)) if kind == "anything" else piece
        level = counts[-1] if kind == "ramp" else level
    return [max(COUNTS_MIN + 1, min(COUNTS_MAX - 1, one)) for one in counts]


def noise(seed: int, sigma: float) -> Iterator[int]:
    """Yield white Gaussian noise in whole counts, without end."""
    source = random.Random(seed)
    while True:
        yield round(source.gauss(0, sigma))
