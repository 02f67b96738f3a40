"""Tables as they were printed: CSV files that open with commented lines naming work, table, page and digits."""

from __future__ import annotations

import csv
from pathlib import Path


def printed_rows(path: Path) -> list[dict[str, str]]:
    """The rows of a table under tests/published, the comments left out."""
    lines = path.read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
