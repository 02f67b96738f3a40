"""The kernels of resampling as banded matrices, cut into blocks.

Smaller: Lanczos of three lobes, stretched. Larger: Catmull-Rom cubic. Duchon1979 (Lanczos), Keys1981 (cubic
with a = -1/2).
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Doubles = NDArray[np.float64]

ONE_THREAD: Final = 200_000
"""Multiplications in one matrix product: so few that the library under numpy keeps to the calling thread,
which makes results independent of the number of processors; the threads are ours."""


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """A run of outputs and the inputs it needs: weights (inputs, outputs), columns sum to 1."""

    first_in: int
    last_in: int
    first_out: int
    last_out: int
    weights: Floats


@functools.lru_cache(maxsize=8)
def axis_blocks(count_in: int, count_out: int, outputs: int | None = None) -> tuple[Block, ...]:
    """The banded matrix that takes `count_in` samples to `count_out`, cut into blocks of so many outputs."""
    ratio = count_in / count_out
    stretch = max(1.0, ratio)
    reach = (3.0 if ratio > 1 else 2.0) * stretch
    kernel = _lanczos3 if ratio > 1 else _catmull_rom
    centres = (np.arange(count_out) + 0.5) * ratio - 0.5
    first = np.ceil(centres - reach).astype(np.int64)
    taps = int(np.floor(2 * reach)) + 1
    index = first[:, None] + np.arange(taps)
    weight = kernel((index - centres[:, None]) / stretch)
    weight /= weight.sum(axis=1, keepdims=True)
    index = np.clip(index, 0, count_in - 1)
    step = outputs or int(np.clip(round(16 / stretch), 4, 16))
    blocks: list[Block] = []
    for start in range(0, count_out, step):
        stop = min(start + step, count_out)
        low, high = int(index[start:stop].min()), int(index[start:stop].max()) + 1
        dense = np.zeros((high - low, stop - start))
        columns = np.broadcast_to(np.arange(stop - start)[:, None], (stop - start, taps))
        np.add.at(dense, (index[start:stop] - low, columns), weight[start:stop])
        blocks.append(Block(low, high, start, stop, dense.astype(np.float32)))
    return tuple(blocks)


def _lanczos3(x: Doubles) -> Doubles:
    return np.where(np.abs(x) < 3, np.sinc(x) * np.sinc(x / 3), 0.0)


def _catmull_rom(x: Doubles) -> Doubles:
    x = np.abs(x)
    near = 1 + x**2 * (1.5 * x - 2.5)
    far = 2 + x * (-4 + x * (2.5 - 0.5 * x))
    return np.where(x < 1, near, np.where(x < 2, far, 0.0))


def product_into(out: Floats, left: Floats, right: Floats) -> None:
    """out (n, m) = left (n, k) @ right (k, m), in parts of at most ONE_THREAD multiplications."""
    rows, inner = left.shape
    if rows * inner <= inner * right.shape[1]:  # the longer side is cut
        step = max(64, ONE_THREAD // (rows * inner))
        for column in range(0, right.shape[1], step):
            part = slice(column, column + step)
            np.matmul(left, right[:, part], out=out[:, part])
        return
    step = max(1, ONE_THREAD // right.size)
    for row in range(0, rows, step):
        np.matmul(left[row : row + step], right, out=out[row : row + step])
