"""Spectra to colour: reflectance every 10 nm to XYZ under D50, 2 degree observer.

Weights in the manner of ASTM E308/E2022: sums at 5 nm, the sample's spectrum
read between its bands by cubic Lagrange pieces, all folded into one table.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.colour.lab import PCS_WHITE
from wallworthy.colour.observer import observer_2_degree

Array = NDArray[np.float64]

WAVELENGTHS_NM: Final = np.arange(380, 731, 10)
"""The 36 bands of every spectrum in the demo."""

DATA: Final = Path(__file__).parent / "data"

# CIE illuminant D50 every 10 nm, 380 to 780 nm: CIE 15:2018, written down from memory and
# confirmed in the tests. Between the values it runs in straight lines, as CIE defines it.
_D50: Final = """
    24.49 29.87 49.31 56.51 60.03 57.82 74.82 87.25 90.61 91.37 95.11 91.96 95.72 96.61 97.13 102.10 100.75 102.32
    100.00 97.74 98.92 93.50 97.69 99.27 99.04 95.72 98.86 95.67 98.19 103.00 99.13 87.38 91.60 92.89 76.85 86.51
    92.58 78.23 57.69 82.92 78.27
"""
D50_POWER: Final = np.array(_D50.split(), dtype=np.float64)


def lagrange_rows(fine_nm: Array) -> Array:
    """Matrix (len(fine_nm), 36) that interpolates band values at other wavelengths by cubic Lagrange pieces.

    Beyond 730 nm the last value is kept, as ASTM E308 has it for spectra cut short.
    """
    first, step, bands = 380.0, 10.0, len(WAVELENGTHS_NM)
    place = np.clip((fine_nm - first) / step, 0, bands - 1)
    start = np.clip(np.floor(place).astype(int) - 1, 0, bands - 4)
    t = place - start
    rows = np.zeros((len(fine_nm), bands))
    for j in range(4):
        weight = np.prod([(t - k) / (j - k) for k in range(4) if k != j], axis=0)
        rows[np.arange(len(fine_nm)), start + j] = weight
    return rows


@cache
def xyz_weights() -> Array:
    """Weights (36, 3) with `reflectance @ weights` = XYZ, Y 0-1, under D50, 2 degree observer.

    Scaled so that the perfect diffuser is exactly the profile connection space's white.
    Source: ASTM E308 (method), CIE 15:2018 (values).
    """
    table = observer_2_degree()
    light = np.interp(table[:, 0], np.arange(380, 781, 10), D50_POWER)
    weights = lagrange_rows(table[:, 0]).T @ (table[:, 1:] * light[:, None])
    return weights / weights.sum(axis=0) * PCS_WHITE


def spectra_to_xyz(reflectance: ArrayLike) -> Array:
    """Reflectance (..., 36), 0-1, to XYZ (..., 3), Y 0-1, D50, 2 degree observer.

    >>> spectra_to_xyz(np.ones(36)).round(4).tolist()
    [0.9642, 1.0, 0.8249]
    """
    return np.asarray(reflectance, dtype=np.float64) @ xyz_weights()
