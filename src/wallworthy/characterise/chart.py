"""Device values of our own RGB chart: a grid, a neutral ramp, its close neighbours, dense darks, and gaps filled."""

from __future__ import annotations

import itertools
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError

Array = NDArray[np.float64]

FEWEST: Final = 150
MOST: Final = 5000


def rgb_chart(patches: int = 1000, seed: int = 1) -> Array:
    """Device values (patches, 3), RGB 0-1 in steps of 1/255, white and black repeated, in shuffled order.

    Three fifths are a regular grid; then come a neutral ramp, six neighbours around eight greys, a dense
    dark grid, repeats of white and black (they carry the paper and the noise) and, for the rest, points placed as
    far as possible from all others. The order is shuffled so that drift across the sheet does not
    look like colour. Same arguments, same chart. Raises InputError outside 150 to 5000 patches.

    >>> rgb_chart(200).shape
    (200, 3)
    """
    if not FEWEST <= patches <= MOST:
        raise InputError(
            "chart_size",
            f"A chart of {patches} patches is not useful.",
            f"Ask for {FEWEST} to {MOST} patches; 1000 is a good number.",
        )
    rng = np.random.default_rng(seed)
    edge = int((0.6 * patches) ** (1 / 3) + 1e-9)
    steps = np.linspace(0, 1, edge)
    whites = max(3, patches // 150)
    greys = np.repeat(np.linspace(0, 1, max(12, patches // 32))[:, None], 3, axis=1)
    parts = [
        np.array(list(itertools.product(steps, repeat=3))),
        np.ones((whites, 3)),
        np.zeros((whites // 2, 3)),
        greys,
        _around_greys(8 if patches >= 500 else 3),
        _darks(4 if patches >= 700 else 2),
    ]
    chart = np.round(np.concatenate(parts) * 255) / 255
    if len(chart) > patches:
        chart = chart[:patches]
    chart = _fill(chart, patches, rng)
    return chart[rng.permutation(len(chart))]


def _around_greys(levels: int) -> Array:
    grey = np.linspace(0.12, 0.95, levels)
    offsets = np.array(list(itertools.product((0.0, 0.045), repeat=3)))[1:-1]
    return np.clip(grey[:, None, None] - offsets[None], 0, 1).reshape(-1, 3)


def _darks(edge: int) -> Array:
    steps = np.linspace(0.04, 0.28, edge)
    return np.array(list(itertools.product(steps, repeat=3)))


def _fill(chart: Array, patches: int, rng: np.random.Generator) -> Array:
    """Add points one by one, each the candidate furthest from all chosen so far."""
    if len(chart) >= patches:
        return chart
    candidates = np.round(rng.random((6000, 3)) * 255) / 255
    nearest = np.full(len(candidates), np.inf)
    for point in chart:
        nearest = np.minimum(nearest, np.sum((candidates - point) ** 2, axis=1))
    added: list[Array] = []
    for _ in range(patches - len(chart)):
        best = int(np.argmax(nearest))
        added.append(candidates[best])
        nearest = np.minimum(nearest, np.sum((candidates - candidates[best]) ** 2, axis=1))
    return np.concatenate([chart, np.array(added)])
