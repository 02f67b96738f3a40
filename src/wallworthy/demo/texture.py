"""Smooth random fields for the invented scenes, all from seeds, all by numpy."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Field = NDArray[np.floating[Any]]
"""A field or picture in scene-linear light; float32 throughout."""

CELLS: Final = 128
FINER: Final = 8
STRIP: Final = 8
"""Rows worked on at a time, so that the pieces stay in the cache."""
_EDGE: Final = CELLS * FINER
_ROTATE: Final = (np.float32(0.8), np.float32(0.6))


class Noise:
    """A periodic, smooth random field of mean 0 and standard deviation about 0.5, one bump per unit.

    A lattice of random values under a cubic B-spline, kept eight times finer and read linearly.
    """

    def __init__(self, seed: int) -> None:
        lattice = np.random.default_rng(seed).standard_normal((CELLS, CELLS)).astype(np.float32)
        t = np.arange(FINER, dtype=np.float32) / FINER
        spline = np.stack(
            [(1 - t) ** 3, 3 * t**3 - 6 * t**2 + 4, -3 * t**3 + 3 * t**2 + 3 * t + 1, t**3], axis=-1
        )  # (FINER, 4)
        fine: Field = lattice
        for axis in (0, 1):
            fine = _finer(fine, spline / 6, axis)
        self._tile = np.ascontiguousarray(fine / fine.std() * 0.5, dtype=np.float32).ravel()

    def __call__(self, u: ArrayLike, v: ArrayLike) -> Field:
        """The field at (u, v), broadcast, any values; one unit is one bump."""
        x, y = np.broadcast_arrays(np.asarray(u, np.float32) * FINER, np.asarray(v, np.float32) * FINER)
        whole_x, whole_y = np.floor(x), np.floor(y)
        x, y = x - whole_x, y - whole_y
        column, row = whole_x.astype(np.int32) & (_EDGE - 1), whole_y.astype(np.int32) & (_EDGE - 1)
        right, below = (column + 1) & (_EDGE - 1), ((row + 1) & (_EDGE - 1)) * _EDGE
        row *= _EDGE
        top = self._tile.take(row + column)
        top += (self._tile.take(row + right) - top) * x
        bottom = self._tile.take(below + column)
        bottom += (self._tile.take(below + right) - bottom) * x
        top += (bottom - top) * y
        return top

    def fractal(
        self,
        u: ArrayLike,
        v: ArrayLike,
        octaves: int,
        *,
        gain: float = 0.5,
        footprint: Field | float = 0.0,
        ridged: bool = False,
    ) -> Field:
        """Octaves of the field, each turned and twice as fine; those finer than `footprint` (in units) fade out.

        ridged: sharp crests, as on rock. Standard deviation stays about 0.5.
        """
        x, y = np.broadcast_arrays(np.asarray(u, np.float32), np.asarray(v, np.float32))
        total = np.zeros(x.shape, dtype=np.float32)
        amplitude, power, scale = 1.0, 0.0, 1.0
        for octave in range(octaves):
            layer = self(x + np.float32(17.13 * octave), y + np.float32(9.71 * octave))
            if ridged:
                layer = 0.6 - np.abs(layer) * 1.3
            fade = amplitude * np.exp(-((np.asarray(footprint, np.float32) * scale) ** 2) * 2)
            total += layer * fade
            power += amplitude**2
            amplitude *= gain
            scale *= 2.03
            x, y = _turned(x, y)
        total /= np.float32(np.sqrt(power))
        return total


def _finer(field: Field, spline: Field, axis: int) -> Field:
    """The field FINER times as fine along an axis: four values under the spline (FINER, 4)."""
    taps = np.stack([np.roll(field, 1 - k, axis=axis) for k in range(4)])
    fine = np.moveaxis(np.tensordot(spline, taps, axes=(1, 0)), 0, axis + 1)
    shape = list(fine.shape)
    shape[axis : axis + 2] = [shape[axis] * FINER]
    return fine.reshape(shape)


def _turned(x: Field, y: Field) -> tuple[Field, Field]:
    """Places for the next octave: turned, and twice as far apart."""
    return (
        (x * _ROTATE[0] - y * _ROTATE[1]) * np.float32(2.03),
        (x * _ROTATE[1] + y * _ROTATE[0]) * np.float32(2.03),
    )


def hashed(a: NDArray[np.integer], b: NDArray[np.integer] | int, salt: int) -> Field:
    """A repeatable random number in [0, 1) for each pair of whole numbers."""
    x = np.asarray(a).astype(np.uint32) * np.uint32(0x9E3779B1)
    x = x ^ (np.asarray(b).astype(np.uint32) * np.uint32(0x85EBCA6B)) ^ np.uint32((salt * 0xC2B2AE35) & 0xFFFFFFFF)
    x ^= x >> np.uint32(15)
    x *= np.uint32(0x2C1B3C6D)
    x ^= x >> np.uint32(12)
    x *= np.uint32(0x297A2D39)
    x ^= x >> np.uint32(15)
    return (x >> np.uint32(8)).astype(np.float32) * np.float32(1 / (1 << 24))


def step_between(low: float, high: float, x: Field) -> Field:
    """0 below `low`, 1 above `high`, smooth between (either order)."""
    t = np.clip((np.asarray(x, np.float32) - np.float32(low)) / np.float32(high - low), 0, 1)
    return t * t * (3 - 2 * t)


def blend(a: Field, b: Field, share: Field) -> Field:
    """a to b by share (...); colours (..., 3)."""
    return a + (b - a) * share[..., None]


def colours_along(x: Field, stops: list[tuple[float, tuple[float, float, float]]]) -> Field:
    """Colours (..., 3) along x by smooth steps between stops (x rising)."""
    at = np.array([s[0] for s in stops])
    values = np.array([s[1] for s in stops])
    return np.stack([np.interp(x, at, values[:, i]) for i in range(3)], axis=-1).astype(np.float32)


def enlarge(small: Field, height: int, width: int) -> Field:
    """Enlarge (h, w, 3) to (height, width, 3) by cubic Catmull-Rom pieces, in strips on two threads."""
    rows, columns = _taps(small.shape[0], height), _taps(small.shape[1], width)
    wide = sum_of_taps(small, columns, axis=1)
    large = np.empty((height, width, small.shape[2]), dtype=np.float32)

    def strip(top: int) -> None:
        part = slice(top, min(top + STRIP, height))
        large[part] = sum_of_taps(wide, [(index[part], weight[part]) for index, weight in rows], axis=0)

    in_two_threads(strip, range(0, height, STRIP))
    return large


Taps = list[tuple[NDArray[np.intp], Field]]


def sum_of_taps(source: Field, taps: Taps, axis: int) -> Field:
    """Weighted sum of the source's rows (axis 0) or columns (axis 1)."""
    shape = (-1, 1, 1) if axis == 0 else (1, -1, 1)
    total = source.take(taps[0][0], axis=axis)
    total *= taps[0][1].reshape(shape)
    for index, weight in taps[1:]:
        piece = source.take(index, axis=axis)
        piece *= weight.reshape(shape)
        total += piece
    return total


def in_two_threads(
    work: Callable[[int], None], jobs: Iterable[int], done: Callable[[float], None] = lambda share: None
) -> None:
    """Do independent jobs on two threads; numpy lets the other run meanwhile. done: hears the share after each."""
    listed = list(jobs)
    with ThreadPoolExecutor(2) as pool:
        for count, _ in enumerate(pool.map(work, listed), 1):
            done(count / len(listed))


def _taps(count: int, goal: int) -> Taps:
    place = (np.arange(goal) + 0.5) * count / goal - 0.5
    start = np.floor(place)
    t = place - start
    weights = [
        ((-0.5 * t + 1) * t - 0.5) * t,
        (1.5 * t - 2.5) * t * t + 1,
        ((-1.5 * t + 2) * t + 0.5) * t,
        (0.5 * t - 0.5) * t * t,
    ]
    return [
        (np.clip(start.astype(np.intp) - 1 + k, 0, count - 1), np.asarray(w, dtype=np.float32))
        for k, w in enumerate(weights)
    ]
