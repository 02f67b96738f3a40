"""A window of a picture at another size, without the rest: what a deep zoom asks for."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Box
from wallworthy.raster.kernels import Block, axis_blocks, product_into
from wallworthy.raster.scale import decoding, on_grid, unit_code

Working = NDArray[np.uint16]
Floats = NDArray[np.float32]

CODES: Final = 65535


def scaled_window(picture: NDArray[Any], size_px: tuple[int, int], window: Box) -> Working:
    """The window (row, column, height, width) of `picture` scaled to `size_px` (width, height), working encoding.

    picture: (H, W, 3) uint16, in memory or mapped from a file: only what lies under the window is read.
    Returns (height, width, 3) uint16, the same numbers as `scale.scaled_picture` has there, rounded to 16 bits.
    """
    top, left, height, width = window
    rows, columns = picture.shape[:2]
    if size_px == (columns, rows):
        return np.array(picture[top : top + height, left : left + width])
    down = _blocks(rows, size_px[1], top, top + height)
    across = _blocks(columns, size_px[0], left, left + width)
    first_row, last_row = down[0].first_in, down[-1].last_in
    first_column, last_column = across[0].first_in, across[-1].last_in
    reduces = size_px[0] < columns or size_px[1] < rows
    taken = np.asarray(picture[first_row:last_row, first_column:last_column])
    values = decoding(light=True)[taken] if reduces else taken.astype(np.float32) / np.float32(CODES)
    values = _down(values, down, first_row, top, height)
    values = _across(values, across, first_column, left, width)
    finished = unit_code(values) if reduces else on_grid(values)
    return np.rint(finished * np.float32(CODES)).astype(np.uint16)


def halved(picture: NDArray[Any]) -> Working:
    """Half the size each way by the mean of the light of 2 x 2 pixels; an odd last row or column is doubled.

    picture: (H, W, 3) uint16, working encoding.
    """
    rows, columns = picture.shape[:2]
    even = np.pad(picture, ((0, rows % 2), (0, columns % 2), (0, 0)), mode="edge")
    light = decoding(light=True)[even]
    mean = light[0::2, 0::2] + light[1::2, 0::2] + light[0::2, 1::2] + light[1::2, 1::2]
    mean *= np.float32(0.25)
    return np.rint(unit_code(mean) * np.float32(CODES)).astype(np.uint16)


def _blocks(count_in: int, count_out: int, start: int, stop: int) -> tuple[Block, ...]:
    return tuple(b for b in axis_blocks(count_in, count_out) if b.first_out < stop and b.last_out > start)


def _down(values: Floats, blocks: tuple[Block, ...], origin: int, start: int, count: int) -> Floats:
    """Rows start .. start + count of values (rows, columns, 3) whose first row is `origin`."""
    flat = values.reshape(values.shape[0], -1)
    out = np.empty((count, flat.shape[1]), np.float32)
    for block in blocks:
        low, high = max(block.first_out, start), min(block.last_out, start + count)
        weights = np.ascontiguousarray(block.weights[:, low - block.first_out : high - block.first_out].T)
        product_into(out[low - start : high - start], weights, flat[block.first_in - origin : block.last_in - origin])
    return out.reshape(count, *values.shape[1:])


def _across(values: Floats, blocks: tuple[Block, ...], origin: int, start: int, count: int) -> Floats:
    """Columns start .. start + count of values (rows, columns, 3) whose first column is `origin`."""
    flat = values.reshape(values.shape[0], -1)
    out = np.empty((values.shape[0], count * 3), np.float32)
    for block in blocks:
        low, high = max(block.first_out, start), min(block.last_out, start + count)
        weights = np.kron(block.weights[:, low - block.first_out : high - block.first_out], np.eye(3, dtype=np.float32))
        taken = flat[:, (block.first_in - origin) * 3 : (block.last_in - origin) * 3]
        product_into(out[:, (low - start) * 3 : (high - start) * 3], taken, weights)
    return out.reshape(values.shape[0], count, 3)
