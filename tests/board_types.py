"""Do the firmware's files use MicroPython's own modules as they are?

    python tests/board_types.py

checks them with basedpyright against the stubs of each port and exits 1 if something was found. The stubs are
looked for in .typings/, where `python tests/board_types.py --install` puts them.
"""

import importlib.util
import json
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
TYPINGS = ROOT / ".typings"
DEVICE = ROOT / "firmware" / "scalewright_device"
STUBS_VERSION = "1.29.0.post1"
PORTS = ("rp2", "esp32", "stm32")
# The firmware has no annotations to say where None, which stands for what was never read, cannot be.
_NOT_ASKED = (
    *("reportOptionalSubscript", "reportOptionalMemberAccess", "reportOptionalCall", "reportOptionalIterable"),
    *("reportOptionalOperand", "reportOperatorIssue"),
)
CHECKER_IS_INSTALLED = importlib.util.find_spec("basedpyright") is not None


def missing() -> list[str]:
    """Return the ports whose stubs of this version are not there."""
    return [port for port in PORTS if not list((TYPINGS / port).glob(f"micropython_{port}_stubs-{STUBS_VERSION}.*"))]


def install(port: str) -> None:
    package = f"micropython-{port}-stubs=={STUBS_VERSION}"
    words = ["-m", "pip", "install", "--quiet", "--upgrade", "--target", str(TYPINGS / port), package]
    subprocess.run([sys.executable, *words], check=True)


def files_of(port: str) -> list[Path]:
    """Return what runs on a board of this port."""
    boards_of_others = [file for other in PORTS if other != port for file in (DEVICE / "boards").glob(f"{other}*.py")]
    return sorted({*DEVICE.rglob("*.py")} - {*boards_of_others})


def check(port: str, files: list[Path]) -> list[str]:
    """Return what is wrong in files that run on a port."""
    settings = {
        "include": [str(file) for file in files],
        "typeshedPath": str(TYPINGS / port),
        "stubPath": str(TYPINGS / port),
        "extraPaths": [str(ROOT), str(ROOT / "firmware")],
        "pythonVersion": "3.11",
        "typeCheckingMode": "basic",
        "reportMissingModuleSource": "none",
        **dict.fromkeys(_NOT_ASKED, "none"),
    }
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "pyrightconfig.json"
        file.write_text(json.dumps(settings))
        words = [sys.executable, "-m", "basedpyright", "--project", str(file), "--outputjson"]
        done = subprocess.run(words, capture_output=True, text=True, check=False)
    report = json.loads(done.stdout)
    assert report["summary"]["filesAnalyzed"] >= len(files), done.stdout + done.stderr
    return [
        f"{one['file']}:{one['range']['start']['line'] + 1}: {one['message']} ({port})"
        for one in report["generalDiagnostics"]
        if one["severity"] == "error"
    ]


def main(arguments: list[str]) -> int:
    """Check the files of every port, or install the stubs; return 1 if anything was found."""
    if "--install" in arguments:
        for port in missing():
            install(port)
        return 0
    ports = [port for port in PORTS if port not in missing()]
    if len(ports) < len(PORTS) or not CHECKER_IS_INSTALLED:
        print("board_types: something is left out. To check all: pip install basedpyright, and run this with --install")
    problems = [problem for port in ports if CHECKER_IS_INSTALLED for problem in check(port, files_of(port))]
    print(*problems, sep="\n", end="\n" if problems else "")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
