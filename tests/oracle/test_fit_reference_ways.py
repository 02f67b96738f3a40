"""The two ways others compare with, by the numbers known of them, and greys' lightness in IPT."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from wallworthy.colour.ipt import FROM_PCS, xyz_to_ipt
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz
from wallworthy.fit.boundary import TOE, hue_of, i_of_lightness, jpt_to_lab, lab_to_jpt, lightness_of_i
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


@pytest.mark.source("Ebner1998", "I of greys is luminance to the power 0.43; hues of P and T")
def test_greys_and_hues_are_those_of_ipt() -> None:
    lightness = np.linspace(0, 100, 21)
    grey = np.stack([lightness, 0 * lightness, 0 * lightness], axis=-1)
    assert i_of_lightness(lightness) == pytest.approx(xyz_to_ipt(lab_to_xyz(grey))[:, 0], abs=2e-4)
    assert lab_to_jpt(grey) == pytest.approx(i_of_lightness(lightness)[:, None] * [1, 0, 0], abs=2e-5)
    assert lightness_of_i(i_of_lightness(lightness)) == pytest.approx(lightness, abs=1e-9)
    lab = np.random.default_rng(5).uniform([20, -60, -60], [95, 60, 60], (400, 3))
    lab = lab[np.hypot(lab[:, 1], lab[:, 2]) > 10]
    ours, theirs = lab_to_jpt(lab), xyz_to_ipt(lab_to_xyz(lab))
    assert ours[:, 0] == pytest.approx(i_of_lightness(lab[:, 0]), abs=1e-9), "lightness is L*'s"
    turn = np.abs((hue_of(ours) - hue_of(theirs) + 180) % 360 - 180)
    lit = (lab_to_xyz(lab) @ FROM_PCS.T).min(axis=1) > 10 * TOE
    assert lit.mean() > 0.7
    assert turn[lit].max() < 1.0, "but where a cone sees next to nothing"
    assert np.hypot(*ours[lit, 1:].T) == pytest.approx(np.hypot(*theirs[lit, 1:].T), rel=0.12)
    assert jpt_to_lab(ours) == pytest.approx(lab, abs=1e-6)
    assert PCS_WHITE[1] == 1
