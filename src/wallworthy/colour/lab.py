"""CIELAB, ISO/CIE 11664-4:2019, with the exact rational constants of the standard."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

PCS_WHITE: Final = np.array([0.9642, 1.0, 0.8249])
"""The ICC profile connection space's white (ICC.1:2022, header, PCS illuminant)."""

EPSILON: Final = 216 / 24389
KAPPA: Final = 24389 / 27


def xyz_to_lab(xyz: ArrayLike, white: ArrayLike = PCS_WHITE) -> Array:
    """Tristimulus values to CIELAB.

    xyz: (..., 3), Y 0-1, relative to `white`; below zero continues the linear part.
    Returns (..., 3), L* 0-100. Source: ISO/CIE 11664-4:2019.

    >>> xyz_to_lab([0.2, 0.18, 0.1]).round(4).tolist()
    [49.4961, 13.666, 13.9408]
    """
    ratio = np.asarray(xyz, dtype=np.float64) / np.asarray(white, dtype=np.float64)
    f = np.where(ratio > EPSILON, np.cbrt(ratio), (KAPPA * ratio + 16) / 116)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def lab_to_xyz(lab: ArrayLike, white: ArrayLike = PCS_WHITE) -> Array:
    """CIELAB to tristimulus values, the inverse of `xyz_to_lab`.

    lab: (..., 3), L* 0-100. Returns (..., 3), Y 0-1. Source: ISO/CIE 11664-4:2019.

    >>> lab_to_xyz([50.0, 0.0, 0.0])[1].round(6).item()
    0.184187
    """
    lab = np.asarray(lab, dtype=np.float64)
    y = (lab[..., 0] + 16) / 116
    f = np.stack([y + lab[..., 1] / 500, y, y - lab[..., 2] / 200], axis=-1)
    cube = f**3
    ratio = np.where(cube > EPSILON, cube, (116 * f - 16) / KAPPA)
    return ratio * np.asarray(white, dtype=np.float64)


def lightness_from_y(y: ArrayLike) -> Array:
    """Luminance factor Y 0-1 to L* 0-100. Source: ISO/CIE 11664-4:2019."""
    y = np.asarray(y, dtype=np.float64)
    return np.where(y > EPSILON, 116 * np.cbrt(y) - 16, KAPPA * y)


def y_from_lightness(lightness: ArrayLike) -> Array:
    """L* 0-100 to luminance factor Y 0-1. Source: ISO/CIE 11664-4:2019."""
    lightness = np.asarray(lightness, dtype=np.float64)
    return np.where(lightness > 8, ((lightness + 16) / 116) ** 3, lightness / KAPPA)


def absolute_to_relative(lab: ArrayLike, media_white_xyz: ArrayLike) -> Array:
    """ICC-absolute Lab to media-relative Lab: XYZ scaled by D50 over the media white.

    lab: (..., 3) D50; media_white_xyz: (3,), Y 0-1. Source: ICC.1:2022, media-relative colorimetry.
    """
    scale = PCS_WHITE / np.asarray(media_white_xyz, dtype=np.float64)
    return xyz_to_lab(lab_to_xyz(lab) * scale)


def relative_to_absolute(lab: ArrayLike, media_white_xyz: ArrayLike) -> Array:
    """Media-relative Lab to ICC-absolute Lab; the inverse of `absolute_to_relative`."""
    scale = np.asarray(media_white_xyz, dtype=np.float64) / PCS_WHITE
    return xyz_to_lab(lab_to_xyz(lab) * scale)
