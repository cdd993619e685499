"""Charts as files: always the same bytes, nothing half-written, one line where they cannot be drawn."""

import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest

from scalewright.errors import InputError, ScalewrightError
from scalewright.plots.chart import Chart, Series
from scalewright.plots.picture import write_picture

CHART = Chart(
    "Creep under 5000 g",
    "time / min",
    "change / g",
    (Series("readings", [0, 10, 20], [0, 0.2, 0.3]), Series("fit", [0, 20], [0, 0.3], is_line=True)),
    (-0.5, 0.5),
)
DRAW = """
import sys
{before}
from scalewright.errors import InputError
from scalewright.plots.chart import Chart, Series
from scalewright.plots.picture import write_picture
try:
    write_picture([Chart("t", "x", "y", (Series("s", [1, 2], [3, 4]),))], sys.argv[1])
except InputError as error:
    print(error)
"""


def in_another_process(path: Path, before: str = "", seed: str = "0") -> str:
    host = str(Path(__file__).parents[3] / "host")
    words = [sys.executable, "-c", DRAW.format(before=before), str(path)]
    environment = {"PYTHONPATH": f"{host}:{Path(host).parent}", "PYTHONHASHSEED": seed, "HOME": str(path.parent)}
    return subprocess.run(words, env=environment, capture_output=True, text=True, check=True).stdout


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_the_same_chart_is_the_same_bytes_in_every_process(tmp_path: Path, kind: str) -> None:
    for seed in ("1", "2"):
        in_another_process(tmp_path / f"{seed}.{kind}", seed=seed)
    one, other = ((tmp_path / f"{seed}.{kind}").read_bytes() for seed in ("1", "2"))
    assert one == other and len(one) > 1000


def test_an_svg_holds_each_series_and_no_date(tmp_path: Path) -> None:
    write_picture([CHART, CHART], tmp_path / "creep.SVG")
    text = (tmp_path / "creep.SVG").read_text(encoding="utf-8")
    root = ElementTree.fromstring(text)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    ids = [element.get("id", "") for element in root.iter()]
    assert {"axes_1", "axes_2"} <= set(ids)
    assert "date" not in text.lower().replace("update", "")


def test_a_png_is_one(tmp_path: Path) -> None:
    write_picture([CHART], tmp_path / "creep.png")
    data = (tmp_path / "creep.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"  # ISO/IEC 15948:2004, 5.2
    assert b"tEXt" not in data  # no software, no date


def test_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"creep\.jpg: a plot ends in \.svg or \.png"):
        write_picture([CHART], tmp_path / "creep.jpg")


def test_a_file_that_cannot_be_written_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "folder.svg").mkdir()
    with pytest.raises(ScalewrightError, match="cannot be written"):
        write_picture([CHART], tmp_path / "folder.svg")
    assert [path.name for path in tmp_path.iterdir()] == ["folder.svg"]


def test_without_matplotlib_it_says_how_to_get_it(tmp_path: Path) -> None:
    printed = in_another_process(tmp_path / "a.svg", before="sys.modules['matplotlib'] = None")
    assert printed == (
        "plots as files need matplotlib (pip install scalewright[report], or use --plot-terminal)\n"
    )
    assert not (tmp_path / "a.svg").exists()
