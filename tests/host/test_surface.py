"""The documented surface: every name is there, says what it is, and costs nothing until it is used."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

import scalewright

README = Path(scalewright.__file__).with_name("README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", scalewright.SURFACE)
def test_every_name_is_there_and_documented(name: str) -> None:
    assert getattr(scalewright, name).__doc__
    assert re.search(rf"\b{name}\b", README)


def test_a_name_that_is_not_there_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'weigh'"):
        _ = scalewright.weigh


def test_importing_it_loads_nothing_else() -> None:
    code = "import scalewright, sys; print([m for m in sys.modules if m.startswith('scalewright.')])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"


@pytest.mark.parametrize("example", re.findall(r"```python\n(.*?)```", README, re.DOTALL))
def test_the_examples_run(example: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    rows = "".join(f"{load},,{1000 + 800 * load + load * load},,1,up,\n" for load in range(5))
    Path("points.csv").write_text("load_g,load_u_g,counts,counts_u,n,direction,temperature_c\n" + rows)
    exec(compile(example, "README.md", "exec"), {})
