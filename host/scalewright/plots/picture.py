"""Charts as a picture. The same charts give the same bytes: no date, no random names."""

import io
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from scalewright.errors import InputError, ScalewrightError
from scalewright.plots.chart import Chart

FORMATS = ("svg", "png")
_WIDTH_IN, _HEIGHT_IN = 7.5, 3.6  # of each chart
_SETTINGS: Any = {
    "svg.hashsalt": "scalewright",
    "svg.fonttype": "path",  # the same on every machine, whatever fonts it has
    "font.family": "DejaVu Sans",  # comes with matplotlib
    "axes.grid": True,
    "grid.alpha": 0.3,
    "axes.spines.top": False,
    "axes.spines.right": False,
}
_COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7")  # told apart by colour-blind eyes too (Okabe and Ito)
_MARKERS = ("o", "s", "^", "D")
_FEW = 200  # points that are drawn large


def write_picture(charts: Sequence[Chart], path: str | os.PathLike[str]) -> None:
    """Draw charts below one another into an SVG or PNG file, by its name; the file is replaced as a whole.

    Raises InputError for any other kind of file, and where matplotlib is not installed.
    """
    name = os.fspath(path)
    kind = Path(name).suffix.lower().removeprefix(".")
    if kind not in FORMATS:
        raise InputError(f"a plot ends in {' or '.join(f'.{known}' for known in FORMATS)}", file=name)
    _replace(name, _drawn(charts, kind))


def _drawn(charts: Sequence[Chart], kind: str) -> bytes:
    try:
        import matplotlib
        from matplotlib.figure import Figure
    except ImportError as error:
        raise InputError(
            "plots as files need matplotlib",
            remedy="pip install scalewright[report], or use --plot-terminal",
        ) from error
    out = io.BytesIO()
    with matplotlib.rc_context(_SETTINGS):
        figure = Figure(figsize=(_WIDTH_IN, _HEIGHT_IN * len(charts)), layout="constrained")
        for axes, chart in zip(figure.subplots(len(charts), squeeze=False)[:, 0], charts, strict=True):
            _draw(axes, chart)
        figure.savefig(out, format=kind, dpi=150, metadata={"Date": None} if kind == "svg" else {"Software": None})
    return out.getvalue()


def _draw(axes: Any, chart: Chart) -> None:
    axes.set_title(chart.title, loc="left", fontsize=10)
    axes.set_xlabel(chart.x_label)
    axes.set_ylabel(chart.y_label)
    for number, limit in enumerate(chart.limits):
        axes.axhline(limit, color="black", linewidth=1, linestyle="--", label=None if number else "limit")
    for number, series in enumerate(chart.series):
        colour = _COLOURS[number % len(_COLOURS)]
        if series.is_line:
            axes.plot(series.x, series.y, color=colour, linewidth=1.2, label=series.label)
        else:
            marker, size = _MARKERS[number % len(_MARKERS)], 4 if len(series.x) < _FEW else 1.5
            axes.plot(series.x, series.y, marker, color=colour, markersize=size, label=series.label)
    if axes.get_ylim()[0] < 0 < axes.get_ylim()[1]:
        axes.axhline(0, color="black", linewidth=0.6)
    if len(chart.series) > 1 or chart.limits:
        axes.legend(loc="lower right", bbox_to_anchor=(1, 1), ncols=4, fontsize=8, frameon=False, borderpad=0)


def _replace(name: str, data: bytes) -> None:
    temporary = f"{name}.{os.getpid()}.new"
    try:
        with open(temporary, "xb") as stream:
            stream.write(data)
        os.replace(temporary, name)
    except OSError as error:
        raise ScalewrightError(f"{name}: cannot be written: {str(error.strerror).lower()}") from error
    finally:
        Path(temporary).unlink(missing_ok=True)
