"""The measures on the test sheet's page are the layout's own."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from wallworthy.trial.arrange import sheet_layout
from wallworthy.trial.layout import NEUTRAL_LSTAR, BoxMm

PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "test-sheet.md"


def measures() -> dict[str, BoxMm]:
    layout = sheet_layout((150, 100))
    assert layout.strip_mm is not None
    corners = ("upper left", "upper right", "lower right", "lower left")
    return {
        **{f"tile {tile.code}": tile.box_mm for tile in layout.tiles},
        "strip at final scale": layout.strip_mm,
        "first neutral step": layout.neutrals[0].box_mm,
        "last neutral step": layout.neutrals[-1].box_mm,
        "first colour": layout.colours[0].box_mm,
        "last colour": layout.colours[-1].box_mm,
        "100 mm bar": layout.bar_mm,
        "mark with its quiet zone": layout.mark_mm,
        **{f"corner angle {name}": box for name, box in zip(corners, layout.corners_mm, strict=True)},
        "left note": layout.notes_mm[0],
        "right note": layout.notes_mm[1],
    }


def test_the_page_gives_the_layout_s_measures() -> None:
    rows = re.findall(r"^\| ([^|]+) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|$", PAGE.read_text("utf-8"), re.M)
    printed = {name: tuple(float(value) for value in values) for name, *values in rows}
    assert printed.keys() == measures().keys()
    for name, box in measures().items():
        assert printed[name] == pytest.approx(box, abs=0.0051), name


def test_the_page_gives_the_neutral_steps() -> None:
    assert " ".join(f"{lstar:g}" for lstar in NEUTRAL_LSTAR) in PAGE.read_text("utf-8")
