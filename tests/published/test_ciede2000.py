"""CIEDE2000 against the 34 printed pairs."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from support.printed import printed_rows
from wallworthy.colour.ciede2000 import ciede2000

ROWS = printed_rows(Path(__file__).with_name("sharma2005_table1.csv"))
ON_A_BRANCH = {"14": 4.7461}
HALF_A_DIGIT = 0.5e-4 + 1e-9


def colours(row: dict[str, str], number: int) -> list[float]:
    return [float(row[f"{axis}{number}"]) for axis in "Lab"]


@pytest.mark.source("Sharma2005", "table 1")
@pytest.mark.parametrize("row", ROWS, ids=[row["pair"] for row in ROWS])
@pytest.mark.parametrize("turned", [False, True], ids=["as printed", "the other way round"])
def test_a_printed_pair(row: dict[str, str], turned: bool) -> None:
    first, second = colours(row, 1), colours(row, 2)
    got = float(ciede2000(second, first) if turned else ciede2000(first, second))
    accepted = [float(row["de00"]), ON_A_BRANCH.get(row["pair"], float(row["de00"]))]
    assert min(abs(got - value) for value in accepted) <= HALF_A_DIGIT


@pytest.mark.source("Sharma2005", "table 1")
def test_all_pairs_are_there_and_go_through_at_once() -> None:
    assert len(ROWS) == 34
    got = ciede2000([colours(row, 1) for row in ROWS], [colours(row, 2) for row in ROWS])
    printed = np.array([float(row["de00"]) for row in ROWS])
    others = np.delete(np.abs(got - printed), 13)
    assert others.max() <= HALF_A_DIGIT
