"""The single-precision pictures' kernels against their double-precision twins and colour-science."""

from __future__ import annotations

import numpy as np
import pytest

from support.colour_science import colour
from wallworthy.base.records import Correction
from wallworthy.colour import float32 as single
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.correction import correct, correct32
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, relative_to_absolute, xyz_to_lab
from wallworthy.colour.working import working_to_lab
from wallworthy.icc.blackpoint import compensation


def pairs(spread: float) -> tuple[np.ndarray, np.ndarray]:
    dice = np.random.default_rng(11)
    first = np.stack([dice.uniform(0, 100, 40_000), *dice.uniform(-110, 110, (2, 40_000))], axis=-1)
    second = first + dice.normal(0, spread, first.shape)
    return first.astype(np.float32), second.astype(np.float32)


def by_planes(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    return single.ciede2000_32(single.planes_of(first), single.planes_of(second))


@pytest.mark.source("ColourScience", "delta_E CIE 2000")
@pytest.mark.parametrize("spread", [0.02, 1.0, 8.0])
def test_difference_against_colour_science(spread: float) -> None:

    first, second = pairs(spread)
    expected = colour.delta_E(first.astype(float), second.astype(float), method="CIE 2000")
    assert np.abs(by_planes(first, second) - expected).max() <= 5e-4


@pytest.mark.source("Sharma2005", "equations 2-22")
def test_great_differences_keep_four_digits_away_from_opposite_hues() -> None:
    first, second = pairs(40.0)
    expected = ciede2000(first, second)
    error = np.abs(by_planes(first, second) - expected) / np.maximum(expected, 1)
    assert np.quantile(error, 0.999) <= 1e-4
    assert error.max() <= 0.02


@pytest.mark.source("Sharma2005", "equations 2-22")
@pytest.mark.parametrize(
    ("first", "second"),
    [
        ((50, 0, 0), (50, 0, 0)),
        ((0, 0, 0), (100, 0, 0)),
        ((50, 0, 0), (50, 3, -2)),
        ((50, 2.5, 0), (50, -2.5, 0.001)),
        ((50, 0, -60), (50, 0, -60)),
    ],
)
def test_greys_and_equals(first: tuple[float, ...], second: tuple[float, ...]) -> None:
    got = by_planes(np.array([first], np.float32), np.array([second], np.float32))
    assert got == pytest.approx(ciede2000([first], [second]), abs=2e-4)


@pytest.mark.source("ISOCIE11664-4", "CIELAB; the working encoding is our own")
def test_working_to_lab() -> None:
    rgb = np.random.default_rng(2).random((50_000, 3), dtype=np.float32)
    rgb[:5000] *= 0.09
    got = single.pixels_of(single.working_to_lab32(single.planes_of(rgb)))
    assert np.abs(got - working_to_lab(rgb)).max() <= 1e-3


@pytest.mark.source("ICC2022", "media-relative to ICC-absolute colorimetry")
def test_white_scaling() -> None:
    lab = pairs(1.0)[0]
    white = np.array([0.84479, 0.87617, 0.74551])
    got = single.pixels_of(single.scale_white32(single.planes_of(lab), white / PCS_WHITE))
    assert np.abs(got - relative_to_absolute(lab, white)).max() <= 1e-3


@pytest.mark.source("ISOCIE11664-4", "CIELAB inverse")
def test_xyz_ratio() -> None:
    lab = pairs(1.0)[0]
    assert pytest.approx(lab_to_xyz(lab) / PCS_WHITE, abs=2e-6) == single.lab_to_xyz_ratio32(single.planes_of(lab)).T


@pytest.mark.source("ISO18619", "4.3, the map of black point compensation")
def test_moving_and_scaling_xyz_against_double() -> None:
    lab = pairs(1.0)[0]
    factors, offsets = compensation((3.0, 1.0, -2.0), (17.0, 2.0, 4.0))
    expected = xyz_to_lab(factors * lab_to_xyz(lab) + offsets)
    got = single.shift_xyz32(single.planes_of(lab), factors, offsets / PCS_WHITE).T
    assert np.abs(got - expected).max() <= 2e-3


@pytest.mark.source("FritschCarlson1980", "the tone curve of the correction")
@pytest.mark.parametrize(
    "correction",
    [
        Correction(),
        Correction(lightness=6, contrast=1.25, shadow=4, blue_yellow=3, chroma=1.15),
        Correction(lightness=-12, green_red=20, blue_yellow=-20, chroma=3),
        Correction(lightness=20, contrast=0.6, shadow=-5),
    ],
)
def test_correction_against_double(correction: Correction) -> None:
    lab = pairs(1.0)[0]
    lab[:7, 0] = [-3, 0, 20, 50, 80, 100, 104]
    got = correct32(single.planes_of(lab), correction).T
    assert np.abs(got - correct(lab, correction)).max() <= 5e-4
