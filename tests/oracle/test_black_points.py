"""Black points and their compensation (ISO 18619) against figures computed outside this project with littleCMS 2.14.

The standard prints no check values; these are another implementation's, kept to the digits it was read at.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from support.printed import printed_rows
from wallworthy.icc.blackpoint import REFERENCE_BLACK, compensate, compensation, destination_black, source_black
from wallworthy.icc.read import parse_profile

POINTS = printed_rows(Path(__file__).with_name("black_points.csv"))
NEUTRALS = printed_rows(Path(__file__).with_name("black_0_to_fogra39.csv"))
FOGRA39_BLACK = 12.9381


@pytest.mark.source("ISO18619", "4.2.3 to 4.2.7")
@pytest.mark.source("littleCMS", "2.14, black point detection")
@pytest.mark.parametrize("row", POINTS, ids=[f"{row['profile']}, {row['intent']}" for row in POINTS])
def test_black_points_of_public_profiles(row: dict[str, str], published_profile: Callable[[str], bytes]) -> None:
    profile = parse_profile(published_profile(row["profile"]))
    got = source_black(profile, row["intent"])[0], destination_black(profile, row["intent"])[0]
    computed = float(row["source_lstar"]), float(row["destination_lstar"])
    assert got == pytest.approx(computed, abs=0.5e-4 + 1e-6)


@pytest.mark.source("ISO18619", "4.3, A and B; computed from the formula")
def test_factors_from_black_0_to_the_fogra39_profile() -> None:
    a, b = compensation(0.0, FOGRA39_BLACK)
    assert a == pytest.approx(np.full(3, 0.984475), abs=0.5e-6 + 1e-9)
    assert b == pytest.approx([0.014969, 0.015525, 0.012807], abs=0.5e-6 + 1e-9)


@pytest.mark.source("ISO18619", "4.3, neutral tones; computed from the formula")
@pytest.mark.parametrize("row", NEUTRALS, ids=[row["lstar"] for row in NEUTRALS])
def test_tones_from_black_0_to_the_fogra39_profile(row: dict[str, str]) -> None:
    moved = compensate([float(row["lstar"]), 0.0, 0.0], 0.0, FOGRA39_BLACK)
    assert moved[0] == pytest.approx(float(row["compensated_lstar"]), abs=0.5e-3 + 1e-5)
    assert moved[1:] == pytest.approx([0, 0], abs=1e-9)


@pytest.mark.source("ICC2022", "perceptual reference medium")
def test_the_reference_black() -> None:
    assert REFERENCE_BLACK[0] == pytest.approx(3.1373, abs=1e-4)
    assert np.hypot(*REFERENCE_BLACK[1:]) < 0.05
