"""Contrast sensitivity against colour-science; the square-root integral against recorded figures."""

from __future__ import annotations

import math

import numpy as np
import pytest

from support.colour_science import colour
from wallworthy.appraise.eye import bare_deficit, cubic_transfer, deficit, pixel_box
from wallworthy.colour.barten1999 import (
    contrast_sensitivity,
    optical_transfer,
    pupil_diameter_mm,
    retinal_illuminance_td,
    sensitivity_of,
    square_root_integral,
)


@pytest.mark.source("Barten1999", "as colour-science computes it")
@pytest.mark.parametrize(("luminance", "field"), [(135.0, 40.0), (30.0, 12.0), (3.0, 2.0), (500.0, 60.0)])
def test_sensitivity_is_colour_sciences(luminance: float, field: float) -> None:
    from colour.contrast import contrast_sensitivity_function_Barten1999 as theirs
    from colour.contrast import (
        pupil_diameter_Barten1999,
        retinal_illuminance_Barten1999,
        sigma_Barten1999,
    )

    u = np.geomspace(0.3, 60, 40)
    pupil = pupil_diameter_Barten1999(luminance, field, field)
    assert pupil_diameter_mm(luminance, field) == pytest.approx(pupil, rel=1e-9)
    trolands = retinal_illuminance_Barten1999(luminance, pupil)
    assert retinal_illuminance_td(luminance, pupil) == pytest.approx(trolands, rel=1e-9)
    sigma = sigma_Barten1999(0.5 / 60, 0.08 / 60, pupil)
    expected = theirs(u, sigma=sigma, E=trolands, X_0=field, Y_0=field)
    np.testing.assert_allclose(contrast_sensitivity(u, luminance, field), expected, rtol=1e-6)
    np.testing.assert_allclose(sensitivity_of(u, sigma, trolands, field, 3.0), expected, rtol=1e-6)
    assert colour is not None


@pytest.mark.source("Barten1999", "the library's defaults, u = 4")
def test_the_recorded_single_values() -> None:
    sigma = math.hypot(0.5, 0.08 * 2.1) / 60
    found = sensitivity_of(4.0, sigma, retinal_illuminance_td(20, 2.1), 60, 3)
    assert found == pytest.approx(360.86911, abs=5e-5)
    assert optical_transfer(4, 0.01) == pytest.approx(0.968911, abs=5e-7)


@pytest.mark.source("Barten1999", "luminance 135 cd/m2, field 40 degrees, recorded values")
def test_the_recorded_curve() -> None:
    u = [1, 3, 5, 10, 20, 30, 40, 50]
    printed = [551.0, 731.8, 631.7, 361.5, 114.1, 33.0, 7.69, 1.37]
    half = [0.05] * 6 + [0.005] * 2
    assert np.all(
        np.abs(contrast_sensitivity(u, 135, 40) - printed) <= np.array(half) + 0.003
    )  # one figure was rounded from rounded input
    fine = np.linspace(0.5, 60, 6001)
    curve = contrast_sensitivity(fine, 135, 40)
    assert curve.max() == pytest.approx(737.3, abs=0.05)
    assert fine[curve.argmax()] == pytest.approx(2.58, abs=0.01)
    assert fine[np.flatnonzero(curve > 1)[-1]] == pytest.approx(51.7, abs=0.051)


@pytest.mark.source("Barten1999", "SQRI deficits of the bare model, recorded, +-0.1 JND allowed")
@pytest.mark.parametrize(
    ("diagonals", "printed"),
    [
        (1.0, {6: 3.80, 12: 1.51, 12.7: 1.39, 24: 0.59, 42: 0.34}),
        (1.5, {6: 1.27, 12: 0.52, 12.7: 0.49, 24: 0.26, 42: 0.15}),
        (0.5, {6: 14.3, 12: 8.0, 12.7: 7.6, 24: 3.8, 42: 1.8}),
    ],
)
def test_the_bare_model_gives_the_recorded_deficits(diagonals: float, printed: dict[float, float]) -> None:
    for megapixels, jnd in printed.items():
        tolerance = 0.05 if diagonals == 0.5 else 0.01
        assert bare_deficit(megapixels, diagonals) == pytest.approx(jnd, abs=tolerance)


@pytest.mark.source("Barten1999", "one octave of modulation at threshold is one unit")
def test_the_unit_of_the_integral() -> None:
    u = np.geomspace(1, 4, 33)
    assert square_root_integral(u, np.ones(33), np.ones(33)) == pytest.approx(2.0)
    assert square_root_integral(u, np.full(33, 0.25), np.ones(33)) == pytest.approx(1.0)


@pytest.mark.source("Barten1999", "the deficit by plain quadrature on another grid")
def test_a_deficit_by_another_quadrature() -> None:
    """No enlarging kernel, no cap in force: everything can be written down in a few lines."""
    size, distance, ppi = (254.0, 169.0), 305.0, 360.0
    found = deficit(pixel_box(), ppi, size, distance).deficit_jnd
    u = np.geomspace(0.5, 60, 200_001)
    f = u / (distance * math.tan(math.radians(1)))
    paper, box = 2 ** -((f / 6) ** 2), np.sinc(f * 25.4 / ppi)
    below = f <= ppi / 50.8
    ideal = np.where(below, np.minimum(1, 2 * paper), 0)
    real = np.where(below, box * paper * np.minimum(2, 1 / (box * paper)), 0)
    field = math.degrees(2 * math.atan(math.sqrt(size[0] * size[1]) / 2 / distance))
    s = contrast_sensitivity(u, 30, field)
    lost = np.trapezoid(np.sqrt(ideal * s) - np.sqrt(np.minimum(real, ideal) * s), np.log(u)) / math.log(2)
    assert found == pytest.approx(lost, abs=0.02)


@pytest.mark.source("Keys1981", "the cubic's transfer, by summing its own samples")
def test_the_enlarging_kernels_transfer() -> None:
    from wallworthy.raster.scale import resampled_line

    impulse = np.full(64, 0.25)
    impulse[32] = 0.75
    fine = resampled_line(impulse, 64 * 32) - 0.25
    f = np.array([0.0, 0.1, 0.25, 0.4])
    x = (np.arange(64 * 32) + 0.5) / 32 - 32.5
    transfer = np.abs(np.exp(-2j * np.pi * f[:, None] * x) @ fine) / fine.sum()
    np.testing.assert_allclose(cubic_transfer(f), transfer, atol=2e-3)
