"""Was the picture enlarged? The finest noise of smooth places, and pixels that merely repeat.

A camera's noise reaches up to the finest frequencies; an enlargement's stops below them. Noise added later
hides that, and a picture without noise tells nothing.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Array = NDArray[np.float64]

SIDE: Final = 32
FEWEST: Final = 6
LOW_BAND: Final = (0.08, 0.2)
HIGH_BAND: Final = (0.36, 0.5)
CUT_OFF: Final = 0.006
"""Power in the high band over that in the low one: below this the finest detail was never there."""

FULL: Final = 0.05


def calm_squares(tone: Floats, count: int) -> Floats:
    """The `count` calmest squares of 32 x 32 of a strip, neither black nor white, (n, 32, 32)."""
    rows, columns = tone.shape[0] // SIDE, tone.shape[1] // SIDE
    if rows == 0 or columns == 0:
        return np.zeros((0, SIDE, SIDE), np.float32)
    squares = tone[: rows * SIDE, : columns * SIDE].reshape(rows, SIDE, columns, SIDE)
    few = np.ascontiguousarray(squares[:, ::4, :, ::4])
    range_ = (few.max(axis=(1, 3)) - few.min(axis=(1, 3))).ravel()
    mean = few.mean(axis=(1, 3)).ravel()
    found: list[int] = []
    for place in np.argsort(range_, kind="stable").tolist():
        square = squares[place // columns, :, place % columns]
        if 0.06 < mean[place] < 0.97 and float(np.abs(np.diff(square[::4], axis=1)).mean()) > 1e-4:
            found.append(place)
            if len(found) == count:
                break
    r, c = np.divmod(np.array(found, dtype=np.intp), columns)
    return np.ascontiguousarray(squares[r, :, c])


def top_band_ratio(squares: Floats, code: float) -> float | None:
    """Power per frequency in the high band over the low band, rounding taken off; None when noise is too low to tell.

    squares: (n, 32, 32) tone; code: one step of the file on that scale, 0 for 16 bits.
    """
    if len(squares) < FEWEST:
        return None
    window = np.hanning(SIDE + 2)[1:-1]
    window = np.outer(window, window)
    rest = squares.astype(np.float64) - squares.mean(axis=(1, 2), keepdims=True)
    grid = np.arange(SIDE) - (SIDE - 1) / 2
    for axis in (1, 2):
        shape = (-1, 1) if axis == 1 else (1, -1)
        ramp = grid.reshape(shape) * np.ones((SIDE, SIDE))
        ramp /= np.linalg.norm(ramp)
        rest -= np.einsum("nij,ij->n", rest, ramp)[:, None, None] * ramp
    power = np.abs(np.fft.fft2(rest * window)) ** 2 / (window**2).sum()
    frequency = np.abs(np.fft.fftfreq(SIDE))
    across, down = np.meshgrid(frequency, frequency)
    radius = np.hypot(across, down)
    # along the axes only: an enlargement cuts both, a lens or a filter seldom one
    either = np.maximum(across, down)
    high = power[:, (either >= HIGH_BAND[0]) & (either <= HIGH_BAND[1])].mean(axis=1)
    low = power[:, (radius >= LOW_BAND[0]) & (radius <= LOW_BAND[1])].mean(axis=1)
    floor = code**2 / 12
    order = np.argsort(low, kind="stable")
    calm = order[: max(FEWEST, len(order) // 2)]
    noise, top = float(np.median(low[calm])) - floor, float(np.median(high[calm])) - floor
    if noise < 2.5 * floor or noise < 1e-9:
        return None
    return max(0.0, top) / noise


def repeats_of(samples: NDArray[Any]) -> int:
    """How many times each pixel is repeated both ways (nearest-neighbour enlargement); 1 for none.

    samples: (rows, columns, channels) of one strip that begins at the picture's edge.
    """
    grey = samples[..., 0].astype(np.int64)
    across = (np.diff(grey, axis=1) != 0).sum(axis=0)
    down = (np.diff(grey, axis=0) != 0).sum(axis=1)
    if across.sum() < 500 or down.sum() < 500:
        return 1
    for times in (8, 7, 6, 5, 4, 3, 2):
        if _only_every(across, times) and _only_every(down, times):
            return times
    return 1


def _only_every(changes: NDArray[np.int64], times: int) -> bool:
    """Whether changes occur only between runs of `times` pixels, whichever pixel a run begins with."""
    sums = np.array([changes[first::times].sum() for first in range(times)])
    return bool(sums.max() > 0.98 * sums.sum())
