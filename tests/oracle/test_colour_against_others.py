"""The colour models against colour-science, scikit-image, ColorAide and SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from coloraide import Color
from scipy.interpolate import PchipInterpolator
from skimage.color import deltaE_ciede2000

from support.colour_science import colour
from wallworthy.base.errors import InputError
from wallworthy.base.records import Correction
from wallworthy.colour.bradford import bradford_matrix
from wallworthy.colour.chromaticity import daylight_xy, duv_from_d50, planckian_xy, xy_to_xyz, xyz_to_uv
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.correction import KNOTS, tone_knots
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, xyz_to_lab
from wallworthy.colour.pchip import pchip
from wallworthy.colour.working import ROMM_PRIMARIES_XY, rgb_to_xyz_matrix

PCS_WHITE_XY = PCS_WHITE[:2] / PCS_WHITE.sum()


def labs(seed: int, count: int = 5000) -> np.ndarray:
    dice = np.random.default_rng(seed)
    return np.column_stack([dice.uniform(0, 100, count), dice.uniform(-120, 120, (count, 2))])


@pytest.mark.source("ColourScience", "delta_E CIE 2000")
def test_differences_against_colour_science() -> None:
    assert ciede2000(labs(1), labs(2)) == pytest.approx(colour.delta_E(labs(1), labs(2), method="CIE 2000"), abs=1e-9)


@pytest.mark.source("ScikitImage", "deltaE_ciede2000")
def test_differences_against_scikit_image() -> None:
    assert ciede2000(labs(3), labs(4)) == pytest.approx(deltaE_ciede2000(labs(3), labs(4)), abs=1e-9)


@pytest.mark.source("ColorAide", "delta_e 2000")
def test_differences_against_coloraide() -> None:
    first, second = labs(5, 200), labs(6, 200)
    pairs = zip(first, second, strict=True)
    expected = [Color("lab-d65", list(a)).delta_e(Color("lab-d65", list(b)), method="2000") for a, b in pairs]
    assert ciede2000(first, second) == pytest.approx(expected, abs=1e-9)


@pytest.mark.source("ColourScience", "XYZ_to_Lab")
def test_cielab_against_colour_science() -> None:
    xyz = np.random.default_rng(7).uniform(0, 1, (5000, 3)) ** 3
    expected = colour.XYZ_to_Lab(xyz, illuminant=PCS_WHITE_XY)
    assert xyz_to_lab(xyz) == pytest.approx(expected, abs=1e-4)
    assert lab_to_xyz(xyz_to_lab(xyz)) == pytest.approx(xyz, abs=1e-12)


@pytest.mark.source("ColourScience", "matrix_chromatic_adaptation_VonKries, Bradford")
@pytest.mark.parametrize("white_xy", [(0.3127, 0.3290), (0.44758, 0.40745), (0.28, 0.29)])
def test_bradford_against_colour_science(white_xy: tuple[float, float]) -> None:
    white = xy_to_xyz(white_xy)
    expected = colour.adaptation.matrix_chromatic_adaptation_VonKries(white, PCS_WHITE, transform="Bradford")
    assert bradford_matrix(white, PCS_WHITE) == pytest.approx(expected, abs=1e-9)


@pytest.mark.source("ColourScience", "normalised_primary_matrix")
def test_primaries_against_colour_science() -> None:
    expected = colour.normalised_primary_matrix(ROMM_PRIMARIES_XY, PCS_WHITE_XY)
    assert rgb_to_xyz_matrix(ROMM_PRIMARIES_XY, xy_to_xyz(PCS_WHITE_XY)) == pytest.approx(expected, abs=1e-12)


@pytest.mark.source("ColourScience", "CCT_to_xy, CIE illuminant D series; xy_to_Luv_uv")
def test_daylight_against_colour_science() -> None:
    for cct_k in np.linspace(4000, 25000, 43):
        expected = colour.CCT_to_xy(cct_k, "CIE Illuminant D Series")
        assert daylight_xy(float(cct_k)) == pytest.approx(tuple(expected), abs=1e-9)
        assert xyz_to_uv(xy_to_xyz(expected)) == pytest.approx(colour.xy_to_Luv_uv(expected), abs=1e-12)


@pytest.mark.source("Kim2002", "spline of the Planckian locus; colour-science's coefficients")
def test_planckian_against_the_same_spline() -> None:
    for cct_k in np.linspace(1667, 25000, 60):
        expected = colour.CCT_to_xy(cct_k, "Kang 2002")
        assert planckian_xy(float(cct_k)) == pytest.approx(tuple(expected), abs=1e-9)


@pytest.mark.source("ColourScience", "Planck's law integrated with the 2 degree observer")
@pytest.mark.parametrize("cct_k", [1800, 2200, 2700, 3000, 3500, 4000, 5000, 6500])
def test_planckian_against_an_integration(cct_k: float) -> None:
    spectrum = colour.sd_blackbody(cct_k, colour.SpectralShape(360, 780, 1))
    expected = colour.XYZ_to_xy(colour.sd_to_XYZ(spectrum))
    away = xyz_to_uv(xy_to_xyz(planckian_xy(cct_k))) - colour.xy_to_Luv_uv(expected)
    assert np.hypot(*away) <= 0.001


@pytest.mark.practice
@pytest.mark.parametrize(("cct_k", "locus"), [(3999, daylight_xy), (25001, daylight_xy), (1600, planckian_xy)])
def test_temperatures_off_the_locus_are_refused(cct_k: float, locus: object) -> None:
    assert callable(locus)
    with pytest.raises(InputError):
        locus(cct_k)


@pytest.mark.source("ColourScience", "xy of D50, 2 degree observer, four digits")
def test_d50_against_colour_science() -> None:
    d50 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    assert duv_from_d50(d50) == pytest.approx(0, abs=5e-5)


@pytest.mark.source("SciPy", "PchipInterpolator")
@pytest.mark.parametrize("seed", range(20))
def test_the_tone_curve_against_scipy(seed: int) -> None:
    dice = np.random.default_rng(seed)
    x = np.sort(dice.uniform(0, 100, 7)) + np.arange(7)
    y = dice.normal(0, 30, 7) if seed % 2 else np.cumsum(dice.exponential(1, 7))
    at = np.linspace(x[0], x[-1], 501)
    assert pchip(x, y, at) == pytest.approx(PchipInterpolator(x, y)(at), abs=1e-9)


@pytest.mark.source("FritschCarlson1980", "monotone data give a monotone curve, slopes within three times the secants")
@pytest.mark.parametrize("seed", range(20))
def test_the_tone_curve_is_monotone_where_the_data_are(seed: int) -> None:
    dice = np.random.default_rng(seed)
    x = np.cumsum(dice.uniform(0.1, 30, 9))
    y = np.cumsum(np.where(dice.random(9) < 0.3, 0, dice.exponential(8, 9)))
    at = np.linspace(x[0], x[-1], 4001)
    curve = pchip(x, y, at)
    assert np.diff(curve).min() >= -1e-12 * y[-1]
    assert pchip(x, y, x) == pytest.approx(y, abs=1e-12)
    pieces = np.clip(np.searchsorted(x, at[1:-1], side="right") - 1, 0, len(x) - 2)
    slopes = (pchip(x, y, at[1:-1] + 1e-6) - pchip(x, y, at[1:-1] - 1e-6)) / 2e-6
    assert np.all(slopes <= 3 * (np.diff(y) / np.diff(x))[pieces] + 1e-3 * y[-1])


@pytest.mark.source("SciPy", "PchipInterpolator through the correction's own knots")
@pytest.mark.parametrize(
    "correction",
    [
        Correction(),
        Correction(lightness=8),
        Correction(lightness=-8, shadow=5),
        Correction(contrast=1.4),
        Correction(contrast=0.7, shadow=-6),
    ],
)
def test_corrected_tones_against_scipy(correction: Correction) -> None:
    landed = tone_knots(correction)
    at = np.linspace(0, 100, 1001)
    assert pchip(KNOTS, landed, at) == pytest.approx(PchipInterpolator(KNOTS, landed)(at), abs=1e-11)
