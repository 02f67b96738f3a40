"""The sizes made beforehand are those that the page falls back to where pictures come slowly."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from wallworthy.journey.held import COARSER

PACE = Path(__file__).resolve().parents[2] / "frontend" / "src" / "draw" / "pace.ts"
FACTORS = {"Math.SQRT1_2": 0.5**0.5}


@pytest.mark.practice
def test_the_page_asks_for_the_sizes_that_are_made_beforehand() -> None:
    text = PACE.read_text()
    told = re.search(r"COARSEST = ([\d.]+);", text), re.search(r"Math\.max\(COARSEST, share \* ([\w.]+)\)", text)
    assert told[0] is not None
    assert told[1] is not None
    coarsest, factor = float(told[0][1]), FACTORS[told[1][1]]
    asked, share = [], 1.0
    while share > coarsest + 1e-9:
        share = max(coarsest, share * factor)
        asked.append(share)
    assert asked == pytest.approx(COARSER)
