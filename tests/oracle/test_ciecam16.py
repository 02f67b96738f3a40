"""CIECAM16 against worked cases and against an independent library, there and back."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from support.colour_science import colour
from wallworthy.colour.ciecam16 import SURROUNDS, Appearance, SurroundName, Viewing, appearance, stimulus, uniform
from wallworthy.colour.lab import lab_to_xyz

CASES = Path(__file__).parents[1] / "published" / "CIECAM16_cases.csv"


def cases() -> list[dict[str, float]]:
    lines = [line for line in CASES.read_text().splitlines() if not line.startswith("#")]
    return [{key: float(value) for key, value in row.items()} for row in csv.DictReader(lines)]


def correlates(of: Appearance) -> list[float]:
    return [float(v) for v in (of.lightness, of.chroma, of.hue_deg, of.brightness, of.colourfulness, of.saturation)]


@pytest.mark.source("Li2017", "worked cases, computed by two references; CIE 248:2022 itself was not read")
@pytest.mark.source("CIE248", "the same")
@pytest.mark.parametrize("case", cases(), ids=lambda case: f"L_A {case['la']}, Y {case['y']}")
def test_worked_cases(case: dict[str, float]) -> None:
    xyz = np.array([case["x"], case["y"], case["z"]]) / 100
    view = Viewing((case["xw"] / 100, case["yw"] / 100, case["zw"] / 100), case["la"])
    seen = appearance(xyz, view)
    assert correlates(seen) == pytest.approx([case[key] for key in "JChQMs"], abs=0.5e-5)
    assert uniform(seen) == pytest.approx([case["Jp"], case["ap"], case["bp"]], abs=0.5e-4)
    assert stimulus(seen.lightness, seen.chroma, seen.hue_deg, view) == pytest.approx(xyz, abs=1e-9)


@pytest.mark.source("ColourScience", "XYZ_to_CIECAM16")
@pytest.mark.parametrize("surround", SURROUNDS)
@pytest.mark.parametrize("adaptation", [None, 1.0])
def test_against_colour_science(surround: SurroundName, adaptation: float | None) -> None:
    dice = np.random.default_rng(16)
    names = {"average": "Average", "dim": "Dim", "dark": "Dark"}
    theirs_surround = colour.VIEWING_CONDITIONS_CIECAM16[names[surround]]
    white = np.array([0.9642, 1.0, 0.8249])
    for level in (4.0, 20.0, 64.0, 400.0):
        xyz = lab_to_xyz(dice.uniform([10, -30, -30], [95, 30, 30], (200, 3)))
        view = Viewing((0.9642, 1.0, 0.8249), level, surround=surround, adaptation=adaptation)
        ours = appearance(xyz, view)
        theirs = colour.XYZ_to_CIECAM16(
            xyz * 100, white * 100, level, 20, theirs_surround, discount_illuminant=adaptation == 1.0
        )
        assert np.all(np.isfinite(ours.chroma))
        assert ours.lightness == pytest.approx(theirs.J, abs=1e-6)
        assert ours.chroma == pytest.approx(theirs.C, abs=1e-6)
        assert ours.brightness == pytest.approx(theirs.Q, abs=1e-6)
        assert stimulus(ours.lightness, ours.chroma, ours.hue_deg, view) == pytest.approx(xyz, abs=1e-9)


@pytest.mark.practice
def test_black_and_the_white_itself() -> None:
    view = Viewing((0.9642, 1.0, 0.8249), 20.0, adaptation=1.0)
    white = appearance([0.9642, 1.0, 0.8249], view)
    assert float(white.lightness) == pytest.approx(100, abs=1e-9)
    assert float(white.chroma) == pytest.approx(0, abs=0.01)
    black = appearance([0.0, 0.0, 0.0], view)
    assert float(black.lightness) == 0
    assert stimulus(0.0, 0.0, 0.0, view) == pytest.approx([0, 0, 0], abs=1e-12)
