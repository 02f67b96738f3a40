"""Means over blocks of a picture and windows of blocks, row by row as they come, and back to pixels.

Blocks lie on the picture's own grid, from the upper left. Everything is added one at a time in a fixed order, and what
lies where is told within each block: the last bit does not depend on how the picture was cut.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]

BLOCKS: Final = 3
"""Blocks in half a window."""


def block_means(planes: Floats, step: int) -> Floats:
    """Means over blocks of `step` pixels of whole rows of blocks (H, W, K), (h, w, K); those cut by the picture's lower
    or right edge count what they have."""
    if step == 1:
        return planes
    height, width = planes.shape[:2]
    short = -height % step, -width % step
    padded = np.pad(planes, ((0, short[0]), (0, short[1]), (0, 0)))
    down, across = padded.shape[0] // step, padded.shape[1] // step
    rows = padded.reshape(down, step, padded.shape[1], -1)
    total = rows[:, 0].copy()
    for n in range(1, step):
        total += rows[:, n]
    columns = total.reshape(down, across, step, -1)
    result = columns[:, :, 0].copy()
    for n in range(1, step):
        result += columns[:, :, n]
    tall = np.full((down, 1, 1), step, np.float32)
    wide = np.full((1, across, 1), step, np.float32)
    tall[-1], wide[0, -1] = step - short[0], step - short[1]
    return np.asarray(result / (tall * wide), dtype=np.float32)


def windowed(rows: Iterable[Floats]) -> Iterator[Floats]:
    """Sums over 2 BLOCKS + 1 blocks each way of rows of blocks (h, w, K), as many in all, BLOCKS rows later; beyond the
    picture there is nothing."""
    held: Floats | None = None
    for more in rows:
        nothing = np.zeros((BLOCKS, *more.shape[1:]), np.float32)
        held = np.concatenate([nothing if held is None else held, more])
        if len(held) > 2 * BLOCKS:
            yield _summed(held)
            held = held[-2 * BLOCKS :]
    if held is not None:
        # the last few wait for rows that never come
        yield _summed(np.concatenate([held, np.zeros((BLOCKS, *held.shape[1:]), np.float32)]))


def _summed(blocks: Floats) -> Floats:
    """Sums over 2 BLOCKS + 1 blocks each way: of all but the outermost BLOCKS rows, and all columns."""
    count, width = len(blocks) - 2 * BLOCKS, blocks.shape[1]
    total = blocks[:count]
    for n in range(1, 2 * BLOCKS + 1):
        total = total + blocks[n : n + count]
    padded = np.pad(total, ((0, 0), (BLOCKS, BLOCKS), (0, 0)))
    total = padded[:, :width]
    for n in range(1, 2 * BLOCKS + 1):
        total = total + padded[:, n : n + width]
    return total


def with_neighbours(rows: Iterable[Floats]) -> Iterator[Floats]:
    """Rows of blocks with one more above and one below, as `spread` needs them; at the picture's edges they repeat."""
    held: Floats | None = None
    for more in rows:
        held = np.concatenate([more[:1] if held is None else held, more])
        if len(held) > 2:
            yield held
            held = held[-2:]
    if held is not None:
        yield np.concatenate([held, held[-1:]])


def spread(blocks: Floats, step: int, rows: range, width: int) -> Floats:
    """Back to pixels (rows, width, K), straight lines between the middles of blocks: of rows of blocks with one more
    above and below, (h + 2, w, K). Rows of pixels count from the upper edge of the second row of blocks."""
    low, share = _between(rows, step)
    near, far = blocks[low + 1], blocks[low + 2]
    tall = near + share[:, None, None] * (far - near)
    low, share = _between(range(width), step)
    last = blocks.shape[1] - 1
    near, far = tall[:, np.clip(low, 0, last)], tall[:, np.clip(low + 1, 0, last)]
    return np.asarray(near + share[:, None] * (far - near), dtype=np.float32)


def _between(pixels: range, step: int) -> tuple[NDArray[np.int64], Floats]:
    """For pixels, 0 on a block's edge: the block whose middle lies before each, -1 at first, and how far on it is."""
    pixel = np.arange(pixels.start, pixels.stop)
    inner = (pixel % step + 0.5) / step - 0.5
    before = np.floor(inner)
    return pixel // step + before.astype(np.int64), (inner - before).astype(np.float32)
