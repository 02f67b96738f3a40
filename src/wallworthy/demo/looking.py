"""Looking at a print as an instrument does: light averaged over a small aperture."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import xyz_to_lab

Floats = NDArray[np.float32]
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Likeness:
    """How far two pictures of one print lie apart, dE00."""

    mean_de00: float
    p95_de00: float


def averaged(xyz: Floats, rows: int, columns: int) -> Array:
    """Mean XYZ over a grid of near-equal cells, no smaller than a pixel: (H, W, 3) to (rows, columns, 3)."""
    height, width = xyz.shape[:2]
    if rows > height or columns > width:
        raise ValueError("the cells would be smaller than the pixels")
    tops = np.round(np.linspace(0, height, rows + 1)).astype(np.intp)
    lefts = np.round(np.linspace(0, width, columns + 1)).astype(np.intp)
    by_rows = np.empty((rows, width, 3))
    for row, (top, bottom) in enumerate(pairwise(tops.tolist())):
        xyz[top:bottom].sum(axis=0, dtype=np.float64, out=by_rows[row])
    sums = np.add.reduceat(by_rows, lefts[:-1], axis=1)
    return sums / (np.diff(tops)[:, None, None] * np.diff(lefts)[None, :, None])


def likeness(promised_xyz: Array, printed_xyz: Array) -> Likeness:
    """The colour difference of two grids of cells of the same shape, XYZ relative to D50."""
    difference = ciede2000(xyz_to_lab(promised_xyz), xyz_to_lab(printed_xyz))
    return Likeness(float(difference.mean()), float(np.quantile(difference, 0.95)))
