"""A picture source in memory, for tests of what follows after the master."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError


@dataclass
class MemorySource:
    """A working picture (H, W, 3) as a PixelSource; `fails_at` raises an InputError at that row."""

    picture: NDArray[np.uint16]
    fails_at: int | None = None

    @property
    def width_px(self) -> int:
        return self.picture.shape[1]

    @property
    def height_px(self) -> int:
        return self.picture.shape[0]

    def strips(self, rows: int) -> Iterator[NDArray[np.uint16]]:
        for row in range(0, self.height_px, rows):
            if self.fails_at is not None and row + rows > self.fails_at:
                raise InputError("master_cut_short", "The picture ends too early.", "Save it again.")
            yield self.picture[row : row + rows]


def working(values: Any) -> MemorySource:
    """Working values 0-1, (H, W) grey or (H, W, 3), as a source."""
    values = np.asarray(values, dtype=np.float64)
    if values.ndim == 2:
        values = np.repeat(values[..., None], 3, axis=2)
    return MemorySource(np.rint(np.clip(values, 0, 1) * 65535).astype(np.uint16))


def photo_like(height: int, width: int, seed: int = 5) -> MemorySource:
    """Slopes, waves, edges and a little noise, in colour."""
    row, column = np.mgrid[0:height, 0:width]
    waves = 0.5 + 0.35 * np.sin(column[..., None] / np.array([9.0, 17.0, 31.0])) * np.cos(row[..., None] / 13)
    edge = ((row + 2 * column) % 97 < 40)[..., None] * 0.2
    noise = np.random.default_rng(seed).normal(0, 0.01, (height, width, 3))
    return working(waves + edge - 0.1 + noise)
