"""The user's own table of limits, from a CSV file `load_g,limit_g`.

The loads ascend. `# rule = "step"` (the default): a limit holds up to and including its load, as the bands of OIML R 76
do. `# rule = "line"`: between two loads the limit runs in a straight line. Either way the first limit holds from zero
on, the same limits hold on first test and in service, and above the last load there is no limit.
"""

import os
from dataclasses import dataclass
from fractions import Fraction

from scalewright.errors import InputError
from scalewright.table_file import Row, Table, read_table

_COLUMNS = ("load_g", "limit_g")
RULES = ("step", "line")


@dataclass(frozen=True)
class OwnTolerance:
    """Limits of error as the user states them."""

    file: str
    rule: str
    """step or line"""
    points: tuple[tuple[Fraction, Fraction], ...]
    """load and limit in g, by ascending load"""

    @property
    def source(self) -> str:
        return f"own table {os.path.basename(self.file)}, rule {self.rule}"

    def permissible_error_g(self, load_g: Fraction, *, in_service: bool = False) -> Fraction:
        """Return the limit at a load. Raises InputError above the last load."""
        load_g = abs(load_g)
        low_g, low_limit_g = self.points[0]
        for high_g, high_limit_g in self.points:
            if load_g <= high_g:
                if self.rule == "step" or high_g == low_g:
                    return high_limit_g
                return low_limit_g + (high_limit_g - low_limit_g) * (load_g - low_g) / (high_g - low_g)
            low_g, low_limit_g = high_g, high_limit_g
        raise InputError(f"{float(load_g):g} g is above the last load, {float(low_g):g} g", file=self.file)


def read_own_tolerance(path: str | os.PathLike[str]) -> OwnTolerance:
    """Return the limits in a file. Raises InputError, naming file, line and column."""
    table = read_table(path, _COLUMNS)
    rule = table.metadata.get("rule", RULES[0])
    if not isinstance(rule, str) or rule not in RULES:
        raise table.problem_with("rule", 'expected "step" or "line"')
    return OwnTolerance(table.file, rule, _points(table))


def _points(table: Table) -> tuple[tuple[Fraction, Fraction], ...]:
    points = [_point(row) for row in table.rows]
    for row, (load_g, _), (before_g, _) in zip(table.rows[1:], points[1:], points, strict=False):
        if load_g <= before_g:
            message = f"{float(load_g):g} found; loads ascend, expected more than {float(before_g):g}"
            raise row.problem("load_g", message)
    return tuple(points)


def _point(row: Row) -> tuple[Fraction, Fraction]:
    load_g, limit_g = row.number("load_g"), row.number("limit_g")
    if load_g < 0:
        raise row.problem("load_g", f"{load_g} found; expected a load from 0")
    if limit_g <= 0:
        raise row.problem("limit_g", f"{limit_g} found; expected a limit above 0")
    return Fraction(load_g), Fraction(limit_g)
