"""Least squares within bounds: small, dense, convex problems, solved by finding which bounds hold."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Real = NDArray[np.floating[Any]]
Held = NDArray[np.int64]
"""Which bound each x is held at: -1 the low one, 1 the high one, 0 neither."""

TOGETHER: Final = 20
"""Rounds in which all bounds that are wrong change at once; after that one by one, which always ends."""
SWAPS: Final = 400
ROUNDING: Final = 1e-9


def least_within(square: Real, pull: Real, low: Real, high: Real, total: float | None = None) -> Array:
    """The x (n,), between bounds and of sum `total` where one is given, that minimises x square x / 2 - pull x.

    >>> least_within(np.eye(2), np.array([3.0, 0.5]), np.zeros(2), np.ones(2)).tolist()
    [1.0, 0.5]
    >>> least_within(np.eye(3), np.array([1.4, 0.5, 0.4]), np.zeros(3), np.ones(3), total=1.5).round(9).tolist()
    [1.0, 0.3, 0.2]
    """
    held: Held = np.zeros(len(pull), dtype=np.int64)
    x = np.zeros(len(pull))
    for swap in range(SWAPS):
        x, better = _once(square, pull, low, high, held, total)
        wrong = np.flatnonzero(better != held)
        if not wrong.size:
            break
        if swap < TOGETHER:
            held = better
        else:
            held[wrong[0]] = better[wrong[0]]
    x = np.clip(x, low, high)
    return np.asarray(x if total is None else x * (total / x.sum()), dtype=np.float64)


def _once(square: Real, pull: Real, low: Real, high: Real, held: Held, total: float | None) -> tuple[Array, Held]:
    """The best x while these bounds are held, and which to hold instead; the same ones where x is the answer."""
    free = held == 0
    x = np.where(held < 0, low, np.where(held > 0, high, 0.0))
    count = int(free.sum())
    if not count and total is not None:
        return x, held
    summed = 0 if total is None else 1
    border = np.ones((count + summed, count + summed))
    border[:count, :count] = square[np.ix_(free, free)]
    rest = pull[free] - square[np.ix_(free, ~free)] @ x[~free]
    if total is not None:
        border[count, count] = 0.0
        rest = np.append(rest, total - x[~free].sum())
    solved = np.linalg.solve(border, rest)
    x[free] = solved[:count]
    slack = pull - square @ x - (0.0 if total is None else solved[count])
    wrong = ((held < 0) & (slack > ROUNDING)) | ((held > 0) & (slack < -ROUNDING))
    beyond = np.where(free & (x < low - ROUNDING), -1, np.where(free & (x > high + ROUNDING), 1, 0))
    return x, np.where(beyond != 0, beyond, np.where(wrong, 0, held))
