"""Published tables that lie in tests/reference_data, a `# source` line above each."""

import csv
from pathlib import Path

REFERENCE_DATA = Path(__file__).parents[1] / "reference_data"


def rows(name: str) -> list[dict[str, str]]:
    with open(REFERENCE_DATA / name, encoding="utf-8") as stream:
        return list(csv.DictReader(line for line in stream if not line.startswith("#")))
