"""The branch of ISO 18619 that no public profile takes: a media-relative ramp that comes back bent."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from support.synthetic_profile import synthetic_profile
from support.ways import away_from_the_cmm, device_values
from wallworthy.base.records import Way
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.icc.blackpoint import black_of_ramp, compensate, destination_black, source_black
from wallworthy.icc.engine import convert, from_lab, to_lab
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.icc.standard import srgb_profile

BLACK_LSTAR = 15.0

Bend = Callable[[np.ndarray], np.ndarray]
BENDS: dict[str, Bend] = {
    "sagging": lambda lightness: (lightness / 100) ** 1.5,
    "flat, then steep": lambda lightness: np.clip((lightness - 30) / 70, 0, 1) ** 1.2,
    "S-shaped": lambda lightness: 0.5 - 0.5 * np.cos(np.pi * lightness / 100),
    "with a dent": lambda lightness: (lightness / 100) ** 1.6 + 0.12 * np.exp(-(((lightness - 35) / 6) ** 2)),
}


def bent_printer(bend: Bend) -> Profile:
    """CMYK whose B2A1 asks for the wrong tone: L* comes back as 15 + 85 bend(L*); B2A0 is honest."""

    def device_to_lab(device: np.ndarray) -> np.ndarray:
        light = (1 - device[:, 3]) * (1 - device[:, :3].mean(axis=1))
        lightness = BLACK_LSTAR + (100 - BLACK_LSTAR) * light
        return np.stack([lightness, 50 * (device[:, 1] - device[:, 0]), 50 * (device[:, 2] - device[:, 0])], axis=1)

    def inks(light: np.ndarray, lab: np.ndarray) -> np.ndarray:
        cyan = np.clip(-lab[:, 1] / 200, 0, 1)
        return np.stack([cyan, np.clip(lab[:, 1] / 200, 0, 1), 0 * cyan, 1 - np.clip(light, 0, 1)], axis=1)

    return parse_profile(
        synthetic_profile(
            "CMYK",
            device_to_lab,
            lambda lab: inks(bend(lab[:, 0]), lab),
            perceptual_lab_to_device=lambda lab: inks((lab[:, 0] - BLACK_LSTAR) / (100 - BLACK_LSTAR), lab),
            b2a_nodes=33,
        )
    )


@pytest.mark.source("ISO18619", "4.2.5 to 4.2.7; littleCMS through its flag for compensation")
@pytest.mark.parametrize("name", BENDS)
def test_our_curved_black_point_is_the_cmms(name: str) -> None:
    printer, screen = bent_printer(BENDS[name]), parse_profile(srgb_profile())
    found = destination_black(printer, "relative")
    first_guess = source_black(printer, "relative")
    assert first_guess[0] == pytest.approx(BLACK_LSTAR, abs=0.01)
    assert abs(found[0] - first_guess[0]) > 1, "the straight branch was taken"

    values = device_values(screen, 4000)
    away = away_from_the_cmm(screen, printer, Way.RELATIVE_BPC, values)
    assert away.mean() <= 0.001
    assert away.max() <= 0.02

    # The comparison would notice: a black point half a step of L* off is far from the CMM's.
    expected = to_lab(printer, convert(screen, printer, values, "relative", bpc=True))
    wrong = from_lab(printer, compensate(to_lab(screen, values), 0.0, found[0] + 0.5))
    assert ciede2000(expected, to_lab(printer, np.clip(wrong, 0, 1))).mean() > 0.02


@pytest.mark.source("ISO18619", "4.2.5: a ramp straight within 4 L* above the darkest fifth keeps the first guess")
def test_the_straight_branch() -> None:
    ramp = np.linspace(0, 100, 256)
    assert black_of_ramp(ramp, np.maximum(ramp, 12), 12.0, relative=True) == 12.0
    bent = np.where(ramp > 60, ramp - 4.5, np.maximum(ramp, 12))
    assert black_of_ramp(ramp, bent, 12.0, relative=True) != 12.0


@pytest.mark.source("ISO18619", "4.2.7: the parabola's rising zero")
@pytest.mark.parametrize(("zero", "relative"), [(10.0, True), (25.0, True), (10.0, False)])
def test_a_parabola_gives_its_own_zero(zero: float, relative: bool) -> None:
    ramp = np.linspace(0, 100, 256)
    share = np.clip(ramp - zero, 0, None) * (ramp + 40) / ((100 - zero) * 140)
    got = black_of_ramp(ramp, 10 + 60 * share, 3.0, relative=relative)
    assert got == pytest.approx(zero, abs=0.01)


@pytest.mark.source("ISO18619", "4.2.6 and 4.2.7: nothing to fit")
def test_ramps_that_show_no_black() -> None:
    ramp = np.linspace(0, 100, 256)
    assert black_of_ramp(ramp, np.full(256, 40.0), 12.0, relative=True) is None
    assert black_of_ramp(ramp, 100 - ramp, 12.0, relative=True) is None
    leap = np.where(ramp < 50, 0.0, 100.0)
    assert black_of_ramp(ramp, leap, 12.0, relative=False) is None
