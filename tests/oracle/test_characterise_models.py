"""The models of the print against other ways of computing the same."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import RBFInterpolator, RegularGridInterpolator

from wallworthy.characterise.grid import DeviceGrid, grid_points
from wallworthy.characterise.inverse import colour_measure
from wallworthy.characterise.neugebauer import Neugebauer, fit_neugebauer
from wallworthy.characterise.spline import SMOOTHING, fit_spline
from wallworthy.colour.ciede2000 import ciede2000


def _scattered(count: int = 90) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(3)
    x = rng.random((count, 3))
    y = np.stack([np.sin(3 * x[:, 0]) * x[:, 1], x[:, 2] ** 2 - x[:, 0]], axis=1)
    return x, 20 * y + rng.normal(scale=0.3, size=y.shape)


@pytest.mark.source("SciPy", "RBFInterpolator, kernel cubic, degree 1")
@pytest.mark.source("Duchon1977", "the polyharmonic spline r^3 with linear trend")
def test_smoothing_spline() -> None:
    x, y = _scattered()
    spline = fit_spline(x, y)
    asked = np.random.default_rng(4).random((200, 3)) * 1.2 - 0.1
    for k in range(2):
        other = RBFInterpolator(x, y[:, k], kernel="cubic", degree=1, smoothing=float(spline.smoothing[k]))
        assert np.abs(spline(asked)[:, k] - other(asked)).max() < 1e-6


@pytest.mark.source("SciPy", "RBFInterpolator with one point left out at a time")
@pytest.mark.source("CravenWahba1979", "leave-one-out errors from one decomposition")
def test_leave_one_out_errors() -> None:
    x, y = _scattered(60)
    spline = fit_spline(x, y)
    for i in (0, 17, 59):
        rest = np.arange(60) != i
        for k in range(2):
            other = RBFInterpolator(x[rest], y[rest, k], kernel="cubic", degree=1, smoothing=spline.smoothing[k])
            assert spline.leave_one_out[i, k] == pytest.approx(y[i, k] - other(x[i : i + 1])[0], abs=1e-6)
    mean_square = (spline.leave_one_out**2).mean(axis=0)
    for factor in SMOOTHING[::6]:
        errors = np.zeros((60, 2))
        for i in range(0, 60, 1):
            rest = np.arange(60) != i
            other = RBFInterpolator(x[rest], y[rest], kernel="cubic", degree=1, smoothing=factor)
            errors[i] = y[i] - other(x[i : i + 1])[0]
        assert (mean_square <= (errors**2).mean(axis=0) * (1 + 1e-5)).all()


@pytest.mark.source("SciPy", "RBFInterpolator with repeated points")
def test_weights_are_readings() -> None:
    x, y = _scattered(60)
    weight = np.where(np.arange(60) < 20, 4.0, 1.0)
    spline = fit_spline(x, y, weight)
    smoothing = float(spline.smoothing[0]) / weight
    other = RBFInterpolator(x, y[:, 0], kernel="cubic", degree=1, smoothing=smoothing)
    asked = np.random.default_rng(4).random((50, 3))
    assert np.abs(spline(asked)[:, 0] - other(asked)).max() < 1e-6


@pytest.mark.source("SciPy", "RegularGridInterpolator, linear, continued outside")
@pytest.mark.parametrize(("steps", "channels"), [(5, 3), (4, 4)])
def test_grid_interpolation_and_slopes(steps: int, channels: int) -> None:
    nodes = np.random.default_rng(1).random((*([steps] * channels), 3))
    grid = DeviceGrid(nodes)
    axis = np.linspace(0, 1, steps)
    other = RegularGridInterpolator([axis] * channels, nodes, bounds_error=False, fill_value=None)
    asked = np.random.default_rng(2).random((300, channels)) * 1.3 - 0.15
    lab, slopes = grid.lab_and_slopes(asked)
    assert np.abs(lab - other(asked)).max() < 1e-12
    assert np.abs(grid.lab(asked) - lab).max() < 1e-12
    for k in range(channels):
        step = np.zeros(channels)
        step[k] = 1e-7
        assert np.median(np.abs((other(asked + step) - lab) / 1e-7 - slopes[:, :, k])) < 1e-5
    assert grid_points(steps, channels).shape == (steps**channels, channels)


@pytest.mark.source("Sharma2005", "CIEDE2000 of small differences")
def test_colour_measure_without_hue_emphasis_is_ciede2000() -> None:
    rng = np.random.default_rng(6)
    lab = rng.random((500, 3)) * [90, 90, 90] + [5, -45, -45]
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    lab = lab[(chroma > 8) & (chroma < 30)]
    small = rng.normal(scale=0.01, size=lab.shape)
    measured = np.linalg.norm(np.einsum("nij,nj->ni", colour_measure(lab, 1.0), small), axis=1)
    true = ciede2000(lab, lab + small)
    assert np.median(np.abs(measured / true - 1)) < 0.03
    assert np.abs(measured / true - 1).max() < 0.25


@pytest.mark.source("Neugebauer1937", "a print that follows the model exactly")
@pytest.mark.source("YuleNielsen1951", "the factor n is found again")
def test_model_finds_its_own_print() -> None:
    rng = np.random.default_rng(8)
    primaries = 0.85 * rng.random((8, 3)) + 0.05
    primaries[0], primaries[7] = 0.9, 0.02
    knots = np.array([0.0, 0.25, 0.52, 0.8, 1.0])
    truth = Neugebauer(2.0, np.tile(knots, (3, 3, 1)), primaries**0.5)
    corners = np.array([[c, m, y] for c in (0, 1) for m in (0, 1) for y in (0, 1)], dtype=float)
    device = np.concatenate([corners, rng.random((200, 3))])
    found = fit_neugebauer(device, truth(device))
    asked = rng.random((300, 3))
    assert found.n == 2.0
    assert ciede2000(found(asked), truth(asked)).mean() < 0.05
