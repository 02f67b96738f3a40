"""What reaches the eye from a distance: spatial colour filtering and the likeness of two pictures.

Sources: Zhang1997 (S-CIELAB; filters of Poirson and Wandell 1993 as its authors' code has them),
Wang2003 (multi-scale structural similarity).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.colour.lab import lab_to_xyz, xyz_to_lab
from wallworthy.raster.filters import separable, smoothed

Array = NDArray[np.float64]

XYZ_TO_OPPONENT: Final = np.array([[0.2787, 0.7218, -0.1066], [-0.4488, 0.2898, 0.0772], [0.0860, -0.5900, 0.5011]])
OPPONENT_TO_XYZ: Final = np.linalg.inv(XYZ_TO_OPPONENT)

FILTERS: Final = (
    ((0.05, 1.00327), (0.225, 0.114416), (7.0, -0.117686)),
    ((0.0685, 0.616725), (0.826, 0.383275)),
    ((0.0920, 0.567885), (0.6451, 0.432115)),
)
"""Light-dark, red-green, yellow-blue: width at half height in degrees, weight; weights sum to 1."""
SUPPORT_DEG: Final = 0.5
"""The filters end half a degree from their middle, as in the authors' code: the 7 degrees are a box of one."""

TEXTURE_DEG: Final = 0.07
"""Texture is the standard deviation of L* under a bell of this sigma: 2 pixels at 30 a degree."""

SCALES: Final = (0.0448, 0.2856, 0.3001, 0.2363, 0.1333)
"""Weights of the five scales, finest first (Wang2003)."""
WINDOW_SIGMA: Final = 1.5
WINDOW_REACH: Final = 5
LUMINANCE_CONSTANT: Final = (0.01 * 100) ** 2
CONTRAST_CONSTANT: Final = (0.03 * 100) ** 2


def seen_lab(lab: NDArray[np.floating], px_per_degree: float) -> Array:
    """The picture as S-CIELAB sees it: Lab (H, W, 3) filtered by the eye's three channels. Source: Zhang1997."""
    channels = lab_to_xyz(lab) @ XYZ_TO_OPPONENT.T
    seen = np.empty_like(channels)
    for n, parts in enumerate(FILTERS):
        plane = channels[..., n]
        total = np.zeros_like(plane)
        for width, weight in parts:
            kernel = _bell(width, px_per_degree)
            total += weight * separable(plane, kernel, edge_repeats=True)
        seen[..., n] = total
    return xyz_to_lab(seen @ OPPONENT_TO_XYZ.T)


@lru_cache(maxsize=32)
def _bell(width_deg: float, px_per_degree: float) -> Array:
    """A bell of that width at half height, integrated over pixels, cut at the support, summing to 1."""
    sigma = width_deg / (2 * np.sqrt(2 * np.log(2))) * px_per_degree
    reach = max(1, int(np.floor(SUPPORT_DEG * px_per_degree)))
    edges = (np.arange(-reach, reach + 2) - 0.5) / (np.sqrt(2) * sigma)
    kernel = np.diff([math.erf(edge) for edge in edges])
    return kernel / kernel.sum()


def similarity(first: Array, second: Array) -> float:
    """Multi-scale structural similarity of two lightness pictures (H, W), L* 0-100, 1 for equal ones.

    Gaussian window (sigma 1.5, 11 pixels), scales halved by means of 2 x 2, as many of the five as
    leave 11 pixels, their weights scaled to sum to 1. Source: Wang2003.
    """
    usable = scales_of(first.shape)
    weights = np.array(SCALES[:usable]) / sum(SCALES[:usable])
    result = 1.0
    for scale, weight in enumerate(weights):
        luminance, structure = _similarity_terms(first, second)
        value = luminance * structure if scale == usable - 1 else structure
        result *= max(float(value.mean()), 0.0) ** weight
        if scale < usable - 1:
            first, second = _halved(first), _halved(second)
    return float(result)


def scales_of(shape: tuple[int, ...]) -> int:
    """How many of the scales leave 11 pixels of a picture (rows, columns).

    >>> scales_of((1080, 1920)), scales_of((100, 200)), scales_of((8, 8))
    (5, 4, 1)
    """
    return max(1, min(len(SCALES), int(np.log2(max(1, min(shape) / (2 * WINDOW_REACH + 1)))) + 1))


def window_bell() -> Array:
    """The window along one axis, (11,), summing to 1."""
    steps = np.arange(-WINDOW_REACH, WINDOW_REACH + 1)
    kernel = np.exp(-(steps**2) / (2 * WINDOW_SIGMA**2))
    return np.asarray(kernel / kernel.sum(), dtype=np.float64)


def structural_similarity(first: Array, second: Array) -> float:
    """The same at one scale: the mean structural similarity of L* 0-100 pictures (H, W). Source: Wang2003."""
    luminance, structure = _similarity_terms(first, second)
    return float((luminance * structure).mean())


def _similarity_terms(first: Array, second: Array) -> tuple[Array, Array]:
    x, y = np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
    mean_x, mean_y = _window(x), _window(y)
    var_x, var_y = _window(x * x) - mean_x**2, _window(y * y) - mean_y**2
    together = _window(x * y) - mean_x * mean_y
    luminance = (2 * mean_x * mean_y + LUMINANCE_CONSTANT) / (mean_x**2 + mean_y**2 + LUMINANCE_CONSTANT)
    structure = (2 * together + CONTRAST_CONSTANT) / (var_x + var_y + CONTRAST_CONSTANT)
    return luminance, structure


def _window(plane: Array) -> Array:
    """Means under the window, where it lies within the picture."""
    inner = (slice(WINDOW_REACH, -WINDOW_REACH),) * 2
    filtered = separable(plane, window_bell())
    return filtered[inner] if min(plane.shape) > 2 * WINDOW_REACH else filtered


def _halved(plane: Array) -> Array:
    height, width = plane.shape[0] // 2 * 2, plane.shape[1] // 2 * 2
    return plane[:height, :width].reshape(height // 2, 2, width // 2, 2).mean(axis=(1, 3))


def local_deviation(plane: Array, sigma_px: float) -> Array:
    """Standard deviation under a bell of `sigma_px`, (H, W)."""
    plane = np.asarray(plane, dtype=np.float64)
    mean = smoothed(plane, sigma_px)
    return np.sqrt(np.maximum(smoothed(plane**2, sigma_px) - mean**2, 0.0))
