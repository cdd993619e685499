"""How long a certificate takes: from the journal to facts, and to each of its forms.

    python benchmarks/certificate.py [RECORDS]

A job of 13 loads up and down, as found and as left, on a scale without error, in a journal of RECORDS entries (default
2000). The goal is one second for a PDF, from nothing: interpreter, imports, journal, replay, typesetting. Most of it is
the import of libraries; on a busy machine only the ratio to that says anything.
"""

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "host")]

from scalewright.certificates import dcc, html, pdf, spreadsheet  # noqa: E402
from scalewright.certificates.document import Certificate  # noqa: E402
from scalewright.certificates.evidence import certificate_of, issue_certificate  # noqa: E402
from scalewright.composition import compose  # noqa: E402
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign  # noqa: E402
from scalewright.procedures.calibration import Calibration  # noqa: E402
from scalewright.procedures.range_check import RangeCheck  # noqa: E402
from scalewright.records.journal import Addition, Journal  # noqa: E402
from tests.host.certificates import perfect  # noqa: E402
from tests.host.certificates.test_issue import ISSUE  # noqa: E402

STEPS = (0, 500, 1000, 1500)
GOAL_S = 1.0
LIBRARIES = "sqlalchemy, scipy.special, typst"


def plan() -> Calibration:
    up = [compose(perfect.MASSES, Decimal(nominal)) for nominal in STEPS]
    loads = tuple(up + up[-2::-1]) * 2
    checks = (RangeCheck(loads),)
    adjustment = MultiPoint(ScaleDesign(Decimal(1500), (1, 0), 1), loads[:7], 4)
    return Calibration(perfect.HELD, as_found=checks, adjustment=adjustment, as_left=checks)


def fill(journal: Journal, entries: int) -> None:
    body: dict[str, object] = {"counts": list(range(16)), "note": "another scale, another day"}
    journal.append_all(Addition("observation", f"job {n // 50}", body) for n in range(entries))


def shortest_s(work: Callable[[], object], times: int = 5) -> float:
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begun)
    return min(taken)


def run_s(words: list[str]) -> float:
    """Return the shortest time in seconds of several runs of Python."""
    return shortest_s(lambda: subprocess.run([sys.executable, *words], check=True, capture_output=True))


def print_forms(journal: Journal, job: str) -> Certificate:
    certificate = certificate_of(journal, job)
    print(f"journal to facts              {1000 * shortest_s(lambda: certificate_of(journal, job)):8.1f} ms")
    forms: dict[str, Callable[[Certificate], object]] = {
        "PDF, digital certificate attached": pdf.render,
        "HTML": html.render,
        "digital certificate (XML)": dcc.render,
        "CSV": spreadsheet.results_csv,
        "JSON": spreadsheet.as_json,
    }
    for name, form in forms.items():
        print(f"{name:33} {1000 * shortest_s(lambda form=form: form(certificate)):4.1f} ms")  # type: ignore[misc]
    return certificate


def main() -> None:
    entries = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "records.sqlite"
        with Journal(path) as journal:
            perfect.register_masses(journal)
            fill(journal, entries)
            job = perfect.carry_out(journal, plan())
            begun = time.perf_counter()
            issue_certificate(journal, job, ISSUE)
            print(f"issuing, all {journal.head().seq} entries verified {1000 * (time.perf_counter() - begun):8.1f} ms")
            print_forms(journal, job)
        words = ["-m", "scalewright", "certificate", job, "--records", str(path), "--out", str(Path(folder) / "c.pdf")]
        whole, libraries = run_s(words), run_s(["-c", f"import {LIBRARIES}"])
        print(f"the command that writes the PDF {whole:.2f} s, goal {GOAL_S:g} s")
        print(f"{whole / libraries:.1f} x import {LIBRARIES}")


if __name__ == "__main__":
    main()
