"""Reading the master once for all of a sheet's tiles: small, but twice as fine as the tiles show the whole."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Box
from wallworthy.base.units import pixels
from wallworthy.raster.scale import scaled_picture
from wallworthy.trial.crops import ENLARGED, LONGEST
from wallworthy.trial.layout import SheetLayout

Floats = NDArray[np.float32]


def reading_px(layout: SheetLayout, shown_px: Box) -> tuple[int, int]:
    """Width and height at which the tiles' picture is read once: fine enough for whole and panels alike.

    Never more than the master's own pixels.

    >>> from wallworthy.trial.arrange import sheet_layout
    >>> reading_px(sheet_layout((150, 100)), (0, 0, 3000, 4500))
    (1134, 756)
    """
    tile = layout.tiles[0].box_mm
    shape = shown_px[3] / shown_px[2]
    thin = max(1.0, max(shape, 1 / shape) / LONGEST)
    wide = min(tile[2], tile[3] * shape) if thin == 1 else max(tile[2], tile[3] * shape) * thin
    enlarged = ENLARGED if layout.mode == "tiles" else 1.0
    width = min(shown_px[3], math.ceil(enlarged * pixels(wide, layout.ppi)))
    return width, min(shown_px[2], max(1, round(width / shape)))


def cut_from(picture: Floats, shown_px: Box) -> Callable[[Box, int, int], Floats]:
    """The sheet's `Engine.working_of` from a picture held in memory.

    picture: the part of the master that is printed, working encoding 0-1, (H, W, 3), at any size.
    shown_px: that part in master pixels, in which boxes are given.
    """
    held = np.rint(np.clip(picture, 0, 1) * 65535).astype(np.uint16)
    down, across = held.shape[0] / shown_px[2], held.shape[1] / shown_px[3]

    def working_of(box: Box, width_px: int, height_px: int) -> Floats:
        rows = _stretch((box[0] - shown_px[0]) * down, box[2] * down, held.shape[0])
        columns = _stretch((box[1] - shown_px[1]) * across, box[3] * across, held.shape[1])
        return scaled_picture(_Held(np.ascontiguousarray(held[rows, columns])), width_px, height_px)

    return working_of


def _stretch(start: float, length: float, limit: int) -> slice:
    first = min(max(0, round(start)), limit - 1)
    return slice(first, min(limit, max(first + 1, round(start + length))))


@dataclass(frozen=True, slots=True, eq=False)
class _Held:
    """A picture in memory as a source of strips."""

    samples: NDArray[np.uint16]

    @property
    def width_px(self) -> int:
        return self.samples.shape[1]

    @property
    def height_px(self) -> int:
        return self.samples.shape[0]

    def strips(self, rows: int) -> Iterator[NDArray[Any]]:
        for first in range(0, self.height_px, rows):
            yield self.samples[first : first + rows]
