"""The working encoding: one RGB cube that holds every master.

ROMM RGB primaries (ISO 22028-2:2013) at D50 with CIELAB's lightness function as its curve, so
that neutrals have R = G = B = L*/100 and equal steps are near-equal steps to the eye.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, lightness_from_y, xyz_to_lab, y_from_lightness

Array = NDArray[np.float64]

ROMM_PRIMARIES_XY: Final = np.array([[0.7347, 0.2653], [0.1596, 0.8404], [0.0366, 0.0001]])
"""ISO 22028-2:2013 (from memory); the encoding is our own, so a digit here changes no colour."""


def rgb_to_xyz_matrix(primaries_xy: ArrayLike, white_xyz: ArrayLike) -> Array:
    """The 3 x 3 matrix from linear RGB to XYZ for primaries (3, 2) and a white (3,), Y 0-1."""
    xy = np.asarray(primaries_xy, dtype=np.float64)
    columns = np.stack([xy[:, 0] / xy[:, 1], np.ones(3), (1 - xy.sum(axis=1)) / xy[:, 1]])
    return columns * np.linalg.solve(columns, np.asarray(white_xyz, dtype=np.float64))


WORKING_TO_XYZ: Final = rgb_to_xyz_matrix(ROMM_PRIMARIES_XY, PCS_WHITE)
XYZ_TO_WORKING: Final = np.linalg.inv(WORKING_TO_XYZ)


def working_to_lab(rgb: ArrayLike) -> Array:
    """Working RGB (..., 3), 0-1, to media-relative Lab (D50), L* 0-100.

    >>> (working_to_lab([0.5, 0.5, 0.5]).round(6) + 0).tolist()
    [50.0, 0.0, 0.0]
    """
    return xyz_to_lab(y_from_lightness(np.asarray(rgb, dtype=np.float64) * 100) @ WORKING_TO_XYZ.T)


def working_lightness(rgb: ArrayLike) -> Array:
    """L* of working RGB (..., 3), as `working_to_lab` has it, (...).

    >>> working_lightness([0.5, 0.5, 0.5]).round(6).item()
    50.0
    """
    return lightness_from_y(y_from_lightness(np.asarray(rgb, dtype=np.float64) * 100) @ WORKING_TO_XYZ[1])


def lab_to_working(lab: ArrayLike) -> Array:
    """Media-relative Lab (D50) to working RGB, unclamped: values outside 0-1 lie outside the cube."""
    return lightness_from_y(lab_to_xyz(lab) @ XYZ_TO_WORKING.T) / 100
