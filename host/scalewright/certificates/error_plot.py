"""The error plot of a certificate as SVG: errors with their uncertainty over the load, in the band of the limits.

Plain lines and texts, so that it takes the fonts of the page it stands on. The same facts give the same bytes.
"""

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from xml.sax.saxutils import escape

from scalewright.certificates.document import Certificate, Point, Test
from scalewright.certificates.print_units import PrintUnits
from scalewright.plots.ticks import Axis, axis

WIDTH, HEIGHT = 720, 230
_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 8, 24, 38
_INSET = 18  # between the frame and the first and last load
_INK, _GREY, _BAND, _LINE = "#1b1b1b", "#8a8f94", "#e6eff0", "#2f6f73"
_APART = 3.0  # by which readings of one load stand beside the load: found and left, from below and from above
_STYLE = (
    "text{font-family:'Libertinus Serif',Georgia,'Times New Roman',serif;font-size:12px;fill:#1b1b1b}"
    ".middle{text-anchor:middle}.end{text-anchor:end}"
)


def draw(certificate: Certificate) -> str:
    """Return the plot as one SVG element."""
    return "\n".join(_Plot(certificate).lines())


class _Plot:
    """Where a load and an error are on the picture, and what is drawn there."""

    def __init__(self, certificate: Certificate) -> None:
        self._tests, self._limits = certificate.tests, certificate.limits
        self._units = PrintUnits.of(certificate.scale)
        self._max_g = max(certificate.scale.max_g, *(p.load_g for test in self._tests for p in test.points))
        self._across = axis([0.0, self._load(self._max_g)], 8)
        self._up = axis(self._heights(), 6)

    def lines(self) -> Iterator[str]:
        """Return the elements from the back to the front."""
        yield f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="errors">'
        yield f"<style>{_STYLE}</style>"
        yield from self._band()
        yield from self._axes()
        for number, test in enumerate(self._tests):
            aside = (2 * number - len(self._tests) + 1) * 2 * _APART
            yield from (mark for point in test.points for mark in self._point(point, aside, self._is_open(test)))
        yield from self._legend()
        yield "</svg>"

    def _heights(self) -> list[float]:
        heights = [0.0]
        for point in (point for test in self._tests for point in test.points):
            u = self._error(Fraction(point.expanded_u_g))
            heights += [self._error(point.error_g) - u, self._error(point.error_g) + u]
        for step in self._limits.steps if self._limits else ():
            heights += [-self._error(step.limit_g), self._error(step.limit_g)]
        return heights

    def _load(self, value_g: Decimal | Fraction) -> float:
        return float(value_g) / 10.0 ** self._units.load_power

    def _error(self, value_g: Fraction) -> float:
        return float(self._units.error(value_g))

    def _x(self, load: float) -> float:
        return _LEFT + _INSET + (WIDTH - _LEFT - _RIGHT - 2 * _INSET) * _share(self._across, load)

    def _y(self, error: float) -> float:
        return HEIGHT - _BOTTOM - (HEIGHT - _TOP - _BOTTOM) * _share(self._up, error)

    def _band(self) -> Iterator[str]:
        """Draw where errors are permitted."""
        if self._limits is None:
            return
        upper, lower, before = [], [], 0.0
        for step in self._limits.steps:
            end = min(self._load(step.up_to_g), self._load(self._max_g))
            limit = self._error(step.limit_g)
            upper += [(before, limit), (end, limit)]
            lower += [(before, -limit), (end, -limit)]
            before = end
        yield f'<path d="{self._path([*upper, *reversed(lower)])}Z" fill="{_BAND}"/>'
        for edge in (upper, lower):
            yield f'<path d="{self._path(edge)}" fill="none" stroke="{_LINE}" stroke-width="1.2"/>'

    def _path(self, places: list[tuple[float, float]]) -> str:
        return "M" + "L".join(f"{self._x(load):.1f},{self._y(error):.1f}" for load, error in places)

    def _axes(self) -> Iterator[str]:
        right, floor = WIDTH - _RIGHT, HEIGHT - _BOTTOM
        for label, error in _ticks(self._up):
            y = self._y(error)
            strong = f'stroke="{_INK}" stroke-width="0.9"' if not error else f'stroke="{_GREY}" stroke-width="0.35"'
            yield f'<path d="M{_LEFT},{y:.1f}H{right}" {strong}/>'
            yield f'<text class="end" x="{_LEFT - 6}" y="{y + 4:.1f}">{label}</text>'
        for label, load in _ticks(self._across):
            yield f'<path d="M{self._x(load):.1f},{floor}v4" stroke="{_INK}" stroke-width="0.7"/>'
            yield f'<text class="middle" x="{self._x(load):.1f}" y="{floor + 17}">{label}</text>'
        yield f'<text class="end" x="{right}" y="{HEIGHT - 5}">load / {self._units.load_symbol}</text>'
        yield f'<text x="4" y="13">error / {self._units.error_symbol}</text>'

    def _is_open(self, test: Test) -> bool:
        return len(self._tests) > 1 and test is self._tests[0]

    def _point(self, point: Point, aside: float, is_open: bool) -> Iterator[str]:
        x = self._x(self._load(point.load_g)) + aside + {"up": -_APART, "down": _APART}.get(point.direction, 0.0)
        error, u = self._error(point.error_g), self._error(Fraction(point.expanded_u_g))
        top, bottom, colour = self._y(error + u), self._y(error - u), _GREY if is_open else _INK
        bar = f"M{x:.1f},{top:.1f}V{bottom:.1f}M{x - 2.5:.1f},{top:.1f}h5M{x - 2.5:.1f},{bottom:.1f}h5"
        yield f'<path d="{bar}" stroke="{colour}" stroke-width="0.9" fill="none"/>'
        yield _mark(x, self._y(error), point.direction, is_open)

    def _legend(self) -> Iterator[str]:
        x = float(WIDTH - _RIGHT)
        for text, direction, is_open in reversed(self._legend_entries()):
            x -= 5.6 * len(text)
            yield f'<text x="{x:.1f}" y="13">{escape(text)}</text>'
            x -= 11
            yield _mark(x, 9, direction, is_open) if direction != "band" else _swatch(x)
            x -= 14

    def _legend_entries(self) -> list[tuple[str, str, bool]]:
        entries = [("limits", "band", False)] if self._limits else []
        for test in self._tests:
            for direction in _directions(test):
                words = {"up": ", rising", "down": ", falling"}.get(direction, "")
                entries.append((f"{test.state}{words}", direction, self._is_open(test)))
        return entries


def _mark(x: float, y: float, direction: str, is_open: bool) -> str:
    shape = {
        "up": f"M{x - 4:.1f},{y + 3:.1f}h8l-4,-7z",
        "down": f"M{x - 4:.1f},{y - 3:.1f}h8l-4,7z",
    }.get(direction, f"M{x - 3.4:.1f},{y:.1f}a3.4,3.4 0 1 0 6.8,0a3.4,3.4 0 1 0 -6.8,0z")
    fill, stroke = ("#ffffff", _GREY) if is_open else (_INK, _INK)
    return f'<path d="{shape}" fill="{fill}" stroke="{stroke}" stroke-width="1"/>'


def _swatch(x: float) -> str:
    return f'<rect x="{x - 7:.1f}" y="4" width="14" height="10" fill="{_BAND}" stroke="{_LINE}"/>'


def _directions(test: Test) -> list[str]:
    return list(dict.fromkeys(point.direction for point in test.points))


def _ticks(scale: Axis) -> Iterator[tuple[str, float]]:
    for k, label in enumerate(scale.labels()):
        yield label.replace("-", "\N{MINUS SIGN}"), (scale.first + k) * scale.step


def _share(scale: Axis, value: float) -> float:
    return (value / scale.step - scale.first) / scale.intervals
