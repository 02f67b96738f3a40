"""The page on the correction is what its script makes today."""

from __future__ import annotations

import re
import runpy
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "reference" / "correction.md"
SCRIPT = ROOT / "scripts" / "pages" / "correction_table.py"


@pytest.mark.practice
def test_the_page_is_up_to_date() -> None:
    assert PAGE.read_text("utf-8") == runpy.run_path(str(SCRIPT))["page"]()


@pytest.mark.source("SciPy", "PchipInterpolator through the knots the page states")
def test_the_rows_follow_from_the_page_alone() -> None:
    """Worked again from the printed definition with SciPy's curve, none of our code."""
    rows = re.findall(r"^\| (\d+) \| (.*?) \|(.*)\|$", PAGE.read_text("utf-8"), re.MULTILINE)
    assert len(rows) == 20
    for _, words, cells in rows:
        asked = {"lightness": 0.0, "contrast": 1.0, "shadow": 0.0, "green_red": 0.0, "blue_yellow": 0.0, "chroma": 1.0}
        asked |= {name: float(value) for name, value in re.findall(r"(\w+) (-?[\d.]+)", words)}
        lightness, a, b, *printed = (float(cell) for cell in cells.split("|"))
        lift, bend = asked["lightness"], 30 * (asked["contrast"] - 1)
        knots = [0, 20 + asked["shadow"] + 0.64 * lift - bend, 50 + lift, 80 + 0.64 * lift + bend, 100]
        within = min(100.0, max(0.0, lightness))
        landed = float(PchipInterpolator([0, 20, 50, 80, 100], knots)(within)) + lightness - within
        t = min(1.0, max(0.0, landed / 100))
        weight = 4 * t * (1 - t)
        expected = [
            landed,
            asked["chroma"] * a + asked["green_red"] * weight,
            asked["chroma"] * b + asked["blue_yellow"] * weight,
        ]
        assert np.abs(np.array(printed) - expected).max() <= 0.5e-4 + 1e-9
