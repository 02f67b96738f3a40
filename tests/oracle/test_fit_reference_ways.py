"""The two ways others compare with, by the numbers known of them, and greys' lightness in IPT."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from wallworthy.colour.ipt import xyz_to_ipt
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz
from wallworthy.fit.boundary import i_of_lightness, ipt_to_lab, lab_to_ipt, lightness_of_i
from wallworthy.fit.reference_ways import LabReach, hpminde, sgck, sgck_lightness
from wallworthy.icc.gamut import GamutSurface, surface
from wallworthy.icc.read import parse_profile


@pytest.fixture(scope="module")
def hull(published_profile: Callable[[str], bytes]) -> GamutSurface:
    return surface(parse_profile(published_profile("fogra39")))


@pytest.fixture(scope="module")
def reach(hull: GamutSurface) -> LabReach:
    return LabReach(hull, 13.0)


@pytest.mark.memory
@pytest.mark.source("CIE156", "SGCK's sigmoids, computed from their constants as remembered")
def test_sgck_lightness_by_its_numbers() -> None:
    asked, none = np.array([10.0, 25, 50, 75, 90]), np.zeros(5)
    assert sgck_lightness(asked, none, 10.0) == pytest.approx([15.04, 25.78, 51.12, 78.99, 92.82], abs=0.005)
    assert sgck_lightness(asked, none, 20.0) == pytest.approx([23.11, 30.89, 52.95, 79.97, 93.36], abs=0.005)
    strong = sgck_lightness(np.full(3, 20.0), np.array([10.0, 40, 80]), 20.0)
    bent = sgck_lightness(np.array([20.0]), np.zeros(1), 20.0)[0]
    assert (strong - 20) / (bent - 20) == pytest.approx([0.9553, 0.6631, 0.2887], abs=1e-4)


@pytest.mark.source("CIE156", "HPMINDE: inside unchanged, outside to the nearest of the same hue")
def test_hpminde_moves_only_what_is_outside_and_keeps_hue(hull: GamutSurface, reach: LabReach) -> None:
    lab = np.random.default_rng(2).uniform([15, -110, -110], [98, 110, 110], (4000, 3))
    moved = hpminde(lab, reach)
    inside = np.hypot(lab[:, 1], lab[:, 2]) < 0.97 * reach.at(
        np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) % 360, lab[:, 0]
    )
    assert np.abs(moved - lab)[inside].max() < 1e-9
    across = lab[:, 1] * moved[:, 2] - lab[:, 2] * moved[:, 1]
    assert np.abs(across).max() < 1e-6
    # nothing of the same hue that is held lies nearer, by a search of random candidates
    for colour, went in zip(lab[~inside][:60], moved[~inside][:60], strict=True):
        share = np.random.default_rng(3).uniform([15, 0], [99, 1], (4000, 2))
        tried = np.column_stack([share[:, 0], share[:, 1:] * colour[1:]])
        nearest = np.linalg.norm(tried[hull.inside(tried)] - colour, axis=1).min()
        assert np.linalg.norm(went - colour) <= nearest + 1.5


@pytest.mark.memory
@pytest.mark.source("CIE156", "SGCK: a knee of 0.9 towards the cusp's grey")
def test_sgck_lands_inside_and_keeps_hue(hull: GamutSurface, reach: LabReach) -> None:
    lab = np.random.default_rng(4).uniform([0, -110, -110], [100, 110, 110], (4000, 3))
    moved = sgck(lab, reach)
    assert np.abs(lab[:, 1] * moved[:, 2] - lab[:, 2] * moved[:, 1]).max() < 1e-6
    shrunk = moved * [1, 0.97, 0.97]
    away = hull.beyond_de00(shrunk[(moved[:, 0] > 20) & (moved[:, 0] < 97)])
    assert np.quantile(away, 0.99) < 1.5


@pytest.mark.source("Ebner1998", "I of greys is luminance to the power 0.43")
def test_greys_in_ipt() -> None:
    lightness = np.linspace(0, 100, 21)
    grey = lab_to_ipt(np.stack([lightness, 0 * lightness, 0 * lightness], axis=-1))
    assert i_of_lightness(lightness) == pytest.approx(grey[:, 0], abs=2e-4)
    assert lightness_of_i(i_of_lightness(lightness)) == pytest.approx(lightness, abs=1e-9)
    lab = np.random.default_rng(5).uniform([5, -60, -60], [95, 60, 60], (50, 3))
    assert lab_to_ipt(lab) == pytest.approx(xyz_to_ipt(lab_to_xyz(lab)), abs=3e-4)
    assert ipt_to_lab(lab_to_ipt(lab)) == pytest.approx(lab, abs=1e-8)
    assert lab_to_ipt(np.array([100.0, 0, 0])) == pytest.approx([1, 0, 0], abs=1e-5)
    assert PCS_WHITE[1] == 1
