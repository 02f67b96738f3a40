"""The picture in cells of about a millimetre of paper, or a sixtieth of its edge: sums to tell of places from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Float = NDArray[np.float32]
Sums = NDArray[np.float64]

CELLS_ALONG: Final = 60
CELL_MM: Final = 1.0
LEAST_WEIGHT: Final = 1e-3
"""So that a cell without any loss still has a colour."""


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
    """Sums over each cell, arrays (R, C) or (R, C, 3).

    `before` and `after` are Lab sums weighted by the loss: the colour that suffers, not the average.
    `step_before`, `step_after`: squared L* steps between horizontal neighbours, for the texture.
    """

    grid: Grid
    loss: Sums
    loss_max: Sums
    weight: Sums
    before: Sums
    after: Sums
    step_before: Sums
    step_after: Sums

    @staticmethod
    def empty(grid: Grid) -> Cells:
        plane, triple = grid.shape, (*grid.shape, 3)
        return Cells(
            grid,
            np.zeros(plane),
            np.zeros(plane),
            np.zeros(plane),
            np.zeros(triple),
            np.zeros(triple),
            np.zeros(plane),
            np.zeros(plane),
        )

    def add(self, band: int, before: Float, after: Float, loss: Float) -> None:
        """Add some rows of cell row `band`: Lab planes (3, rows, W) before and after, loss (rows, W)."""
        starts = self.grid.columns[:-1]

        def columns(values: Float) -> Sums:
            return np.add.reduceat(values.sum(axis=0).astype(np.float64), starts)

        self.loss[band] += columns(loss)
        self.loss_max[band] = np.maximum(self.loss_max[band], np.maximum.reduceat(loss.max(axis=0), starts))
        weight = loss + np.float32(LEAST_WEIGHT)
        self.weight[band] += columns(weight)
        for i in range(3):
            self.before[band, :, i] += columns(before[i] * weight)
            self.after[band, :, i] += columns(after[i] * weight)
        self.step_before[band] += columns(_steps(before[0]))
        self.step_after[band] += columns(_steps(after[0]))


def _steps(lightness: Float) -> Float:
    steps = np.zeros_like(lightness)
    np.subtract(lightness[:, 1:], lightness[:, :-1], out=steps[:, :-1])
    steps *= steps
    return steps
