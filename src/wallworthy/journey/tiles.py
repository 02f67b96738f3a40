"""How the deep zoom of a print is cut into tiles."""

from __future__ import annotations

import math
from typing import Final

from wallworthy.base.errors import InputError
from wallworthy.base.records import Box
from wallworthy.base.units import MM_PER_INCH, pixels
from wallworthy.journey.chain import Job
from wallworthy.journey.finishing import NATIVE_PPI
from wallworthy.journey.page import TilesInfo

TILE_PX: Final = 512


def tiles_of(job: Job) -> TilesInfo:
    """How the print is cut, down to one pixel for each print pixel."""
    ppi = NATIVE_PPI[job.condition.delivery]
    width, height = (pixels(edge, ppi) for edge in job.size_mm)
    levels = 1 + max(0, math.ceil(math.log2(max(width, height) / TILE_PX)))
    return TilesInfo(width, height, TILE_PX, levels, ppi, ppi / MM_PER_INCH)


def tile_box(info: TilesInfo, level: int, column: int, row: int) -> tuple[tuple[int, int], Box]:
    """The level's size (width, height) and the tile's window in it. Raises InputError for one that does not exist."""
    left, top = column * TILE_PX, row * TILE_PX
    smaller = 2 ** max(0, info.levels - 1 - level)
    size = -(-info.width_px // smaller), -(-info.height_px // smaller)
    if level >= info.levels or left >= size[0] or top >= size[1]:
        raise InputError("tile_unknown", "There is no such part of the picture.", "Reload the page.")
    return size, (top, left, min(TILE_PX, size[1] - top), min(TILE_PX, size[0] - left))
