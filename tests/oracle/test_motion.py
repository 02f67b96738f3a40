"""Motion against texture and scenes that were moved by a known path, and against what only looks like it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.ndimage import convolve, gaussian_filter

from support.appraised import appraised, corners, kinds, natural, photo_of
from wallworthy.appraise.motion import Motion, directed, find_motion
from wallworthy.appraise.spectrum import SIDE, powers_of, squares_of

Field = NDArray[np.float64]


def path(length_px: float, degrees: float) -> Field:
    """What a point becomes on an even way of that length and direction (from the x axis, downwards), summing to 1."""
    side, fine = 2 * math.ceil(length_px / 2) + 5, 8
    kernel = np.zeros((side * fine, side * fine))
    middle, turn = (side * fine - 1) / 2, math.radians(degrees)
    for at in np.linspace(-length_px / 2, length_px / 2, 600) * fine:
        kernel[round(middle + at * math.sin(turn)), round(middle + at * math.cos(turn))] += 1
    kernel = kernel.reshape(side, fine, side, fine).sum(axis=(1, 3))
    return kernel / kernel.sum()


def motion_of(field: Field, noise: float = 0.002) -> Motion | None:
    tone = (field + np.random.default_rng(8).normal(0, noise, field.shape)).astype(np.float32)
    squares, place = squares_of(tone, SIDE // 2)
    return find_motion([directed(powers_of(squares), place)], [tone])


@pytest.mark.practice
@pytest.mark.parametrize(("length", "degrees"), [(7, 0), (9, 90), (12, 20), (15, 60), (12, 135), (24, 0)])
def test_direction_and_length_of_an_even_motion_are_found(length: int, degrees: int) -> None:
    found = motion_of(convolve(natural(3, 320), path(length, degrees), mode="wrap"))
    assert found is not None
    assert abs((found.direction_deg - degrees + 90) % 180 - 90) < 12
    assert found.length_px == pytest.approx(length, abs=1.5)


@pytest.mark.practice
@pytest.mark.parametrize("number", range(4))
@pytest.mark.parametrize("blur", [0.0, 1.5])
def test_texture_that_did_not_move_is_not_called_moved(number: int, blur: float) -> None:
    assert motion_of(natural(number, 320, blur)) is None
    assert motion_of(gaussian_filter(corners(number=number + 1), blur)) is None


@pytest.mark.practice
def test_a_motion_that_was_not_even_has_no_length() -> None:
    y, x = np.mgrid[-20:21, -20:21]
    slow = np.where(y == 0, np.exp(-0.5 * (x / 6.0) ** 2), 0)
    found = motion_of(convolve(natural(5, 320), slow / slow.sum(), mode="wrap"))
    assert found is not None
    assert found.length_px is None
    assert abs((found.direction_deg + 90) % 180 - 90) < 12


@pytest.mark.practice
def test_one_sharp_line_before_a_smooth_sky_is_no_motion() -> None:
    y, x = np.mgrid[0:640, 0:640]
    horizon = np.where(y + 0.01 * x < 300, 0.7 - 0.0003 * y, 0.3)
    assert motion_of(horizon) is None


@pytest.mark.practice
def test_few_squares_tell_nothing() -> None:
    assert motion_of(convolve(natural(3, 96), path(12, 0), mode="wrap")) is None
    assert find_motion([], []) is None


@pytest.mark.practice
def test_a_motion_is_told_with_its_length_on_paper_even_where_edges_along_it_are_sharp() -> None:
    field = convolve(natural(3, 320), path(12, 0), mode="wrap")
    found = appraised(photo_of(field), width_mm=320.0)
    [one] = [finding for finding in found.findings if finding.kind == "motion"]
    assert one.size_mm == pytest.approx((12, 0), abs=1)
    assert "12 pixels, 1" in one.text
    assert one.visibility_jnd > 1
    assert "motion" not in kinds(appraised(photo_of(natural(3, 320)), width_mm=320.0))
