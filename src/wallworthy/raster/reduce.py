"""Making a picture smaller by an antialiased kernel on linear light, strip by strip.

Each strip gives its share of the output rows it reaches; rows that lie in two strips are the sum of both
shares. So nothing is kept of a strip but that, and a strip's light stays in the processor's cache.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Iterator
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.raster.filters import merged, separate
from wallworthy.raster.kernels import Block, axis_blocks, product_into
from wallworthy.raster.stream import ordered_map

Floats = NDArray[np.float32]
Samples = NDArray[Any]

COLUMNS: Final = 768
"""Columns of a strip worked at a time."""
OUTPUTS: Final = 24
"""Columns made by one product: more of it falls on weights of 0, but there are three times fewer products."""


def reduced(
    strips: Iterable[Samples],
    linear: Callable[[Samples], Floats],
    finish: Callable[[Floats], Floats],
    size_in: tuple[int, int],
    size_out: tuple[int, int],
) -> Iterator[Floats]:
    """A picture of (width, height) at a smaller size, in pieces of (rows, width, 3) from the top.

    strips: (rows, width, 3) samples. linear: samples to light, float32. finish: light as planes (3, n) to what is
    wanted of it, the same shape. The result depends on where strips are cut by rounding alone.
    """
    down = axis_blocks(size_in[1], size_out[1])
    share = functools.partial(_share, linear, down, size_in[0])
    across = functools.partial(_across, axis_blocks(size_in[0], size_out[0], OUTPUTS), size_out[0], finish)
    yield from ordered_map(across, _whole_rows(ordered_map(share, _placed(strips)), down))


def _placed(strips: Iterable[Samples]) -> Iterator[tuple[int, Samples]]:
    row = 0
    for strip in strips:
        yield row, strip
        row += strip.shape[0]


def _share(
    linear: Callable[[Samples], Floats], down: tuple[Block, ...], width: int, placed: tuple[int, Samples]
) -> tuple[int, int, Floats]:
    """A strip's part in the output rows it reaches: (its end, first output row, (output rows, width * 3))."""
    top, strip = placed
    end = top + strip.shape[0]
    reached = [block for block in down if block.first_in < end and block.last_in > top]
    first = reached[0].first_out if reached else 0
    part = np.zeros((reached[-1].last_out - first if reached else 0, width * 3), np.float32)
    weights = [
        np.ascontiguousarray(b.weights[max(0, top - b.first_in) : min(end, b.last_in) - b.first_in].T) for b in reached
    ]
    for column in range(0, width, COLUMNS):
        light = linear(strip[:, column : column + COLUMNS]).reshape(strip.shape[0], -1)
        columns = slice(column * 3, column * 3 + light.shape[1])
        for block, weight in zip(reached, weights, strict=True):
            taken = light[max(0, block.first_in - top) : block.last_in - top]
            product_into(part[block.first_out - first : block.last_out - first, columns], weight, taken)
    return end, first, part


def _whole_rows(shares: Iterable[tuple[int, int, Floats]], down: tuple[Block, ...]) -> Iterator[Floats]:
    """Output rows of which nothing is missing, in order."""
    pending = np.zeros((0, 0), np.float32)
    for end, first, part in shares:
        if pending.size:
            part[: pending.shape[0]] += pending
        done = max((block.last_out for block in down if block.last_in <= end), default=first)
        if done > first:
            yield part[: done - first]
        pending = part[max(0, done - first) :].copy()


def _across(blocks: tuple[Block, ...], width: int, finish: Callable[[Floats], Floats], rows: Floats) -> Floats:
    planes = np.empty((3, rows.shape[0], width), np.float32)
    for plane, light in zip(planes, separate(rows.reshape(rows.shape[0], -1, 3)), strict=True):
        for block in blocks:
            product_into(
                plane[:, block.first_out : block.last_out], light[:, block.first_in : block.last_in], block.weights
            )
    return merged(finish(planes.reshape(3, -1)).reshape(planes.shape))
