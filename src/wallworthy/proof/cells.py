"""The picture in cells of about a millimetre of paper, or a sixtieth of its edge, sorted by families of colour.

What a paper takes, it takes from colours: red flowers in green grass are two stories, and the mean of
both would be a brown that is nowhere in the picture. So each cell keeps its sums by family.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.colour.float32 import Planes
from wallworthy.proof import words as say

Float = NDArray[np.float32]
Sums = NDArray[np.float64]

CELLS_ALONG: Final = 60
CELL_MM: Final = 1.0

DARK_LSTAR: Final = 25.0
DARK_CHROMA: Final = 22.0
NEUTRAL_CHROMA: Final = 8.0

AB_STEP: Final = 2.0
AB_SIDE: Final = 128
"""a* and b* from -128 to 128 in steps of 2 decide the family by a table."""

HUE_COUNT: Final = len(say.HUES) - 1
"""Sectors of hue; the last rung of the ladder is the first one again."""

FAMILIES: Final = 2 + 2 * HUE_COUNT
"""Dark neutrals, other neutrals, and each hue in a dark and a light family."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Where cells begin: edges (R + 1,) and (C + 1,) in pixels, from 0 to the picture's size."""

    rows: NDArray[np.int64]
    columns: NDArray[np.int64]

    @property
    def shape(self) -> tuple[int, int]:
        return len(self.rows) - 1, len(self.columns) - 1

    def counts(self) -> Sums:
        """Pixels in each cell, (R, C)."""
        return np.outer(np.diff(self.rows), np.diff(self.columns)).astype(np.float64)


def grid_for(height_px: int, width_px: int, px_per_mm: float | None = None) -> Grid:
    """Cells as square as the picture allows: the larger of 1 mm of paper and 1/60 of the longer edge."""
    edge = max(1.0, max(height_px, width_px) / CELLS_ALONG, CELL_MM * (px_per_mm or 0.0))

    def edges(size: int) -> NDArray[np.int64]:
        return np.round(np.linspace(0, size, max(1, round(size / edge)) + 1)).astype(np.int64)

    return Grid(edges(height_px), edges(width_px))


@dataclass(frozen=True, slots=True)
class Cells:
    """Sums by family and cell, (F, R, C): the loss, and how many pixels."""

    grid: Grid
    loss: Sums
    count: Sums
    column_of: NDArray[np.int64]
    """The cell column of each pixel column, (W,)."""

    @staticmethod
    def empty(grid: Grid) -> Cells:
        shape = (FAMILIES, *grid.shape)
        column_of = np.repeat(np.arange(grid.shape[1]), np.diff(grid.columns))
        return Cells(grid, np.zeros(shape), np.zeros(shape), column_of)

    def add(self, band: int, before: Planes, loss: Float) -> None:
        """Add whole rows of cell row `band`: the master's Lab planes (3, n) and the loss (n,)."""
        columns = self.grid.shape[1]
        place = family_of(before).reshape(-1, len(self.column_of)) * columns + self.column_of
        flat, slots = place.ravel(), FAMILIES * columns
        self.loss[:, band] += np.bincount(flat, weights=loss, minlength=slots).reshape(FAMILIES, columns)
        self.count[:, band] += np.bincount(flat, minlength=slots).reshape(FAMILIES, columns)


def family_of(lab: Planes) -> NDArray[np.int64]:
    """The family of each pixel of Lab planes (3, n), 0 to FAMILIES - 1."""
    across = np.clip((lab[1:] + 128) * (1 / AB_STEP), 0, AB_SIDE - 1).astype(np.int64)
    light = (lab[0] >= DARK_LSTAR).astype(np.int64)
    return np.take(_families(), (light * AB_SIDE + across[0]) * AB_SIDE + across[1])


@lru_cache(maxsize=1)
def _families() -> NDArray[np.int64]:
    """The table behind `family_of`: dark half, then light half, by a* and b*."""
    centres = (np.arange(AB_SIDE) + 0.5) * AB_STEP - 128
    a, b = np.meshgrid(centres, centres, indexing="ij")
    chroma, hue = np.hypot(a, b), np.degrees(np.arctan2(b, a)) % 360
    sector = np.searchsorted([bound for bound, _ in say.HUES], hue, side="right") % HUE_COUNT
    dark = np.where(chroma < DARK_CHROMA, 0, 2 + 2 * sector)
    light = np.where(chroma < NEUTRAL_CHROMA, 1, 3 + 2 * sector)
    table = np.stack([dark, light]).ravel().astype(np.int64)
    table.setflags(write=False)
    return table
