"""Halos of sharpening: what runs past both ends of a picture's edges, close to them and nowhere else.

All fairly straight edges are asked, also those with something beside them: what lies beside one edge does not lie
beside the others, a halo lies beside them all, on both sides.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

NEAR_PX: Final = (1.0, 2.25)
FAR_PX: Final = (3.75, 5.5)
"""Halos are looked for between these distances from an edge's middle, against what lies at these."""

RISE_PX: Final = (0.75, 2.0)
"""The edge's step is that between the means of these on either side."""

LEAST_STEP: Final = 0.06
FEWEST: Final = 12
SURE_PCT: Final = 2.0
"""The halo must be more than this with nine chances in ten."""

ONE_SIDED: Final = 5.0
"""Sides that differ by more than so many times are the picture's own: mortar, outlines."""


def overshoots(profiles: Array, step_px: float) -> Array:
    """How far each edge runs past its bright and its dark end, as shares of its step, (m, 2) of the m with a clear one.

    profiles: (n, samples) across edges, their middles at the middle, `step_px` from sample to sample.
    """
    t = (np.arange(profiles.shape[1]) - profiles.shape[1] // 2) * step_px

    def mean(between: tuple[float, float], side: int) -> Array:
        return profiles[:, (side * t >= between[0]) & (side * t <= between[1])].mean(axis=1)

    rise = mean(RISE_PX, 1) - mean(RISE_PX, -1)
    right = (mean(NEAR_PX, 1) - mean(FAR_PX, 1)) / np.where(rise == 0, 1.0, rise)
    left = (mean(FAR_PX, -1) - mean(NEAR_PX, -1)) / np.where(rise == 0, 1.0, rise)
    bright, dark = np.where(rise > 0, right, left), np.where(rise > 0, left, right)
    return np.stack([bright, dark], axis=1)[np.abs(rise) > LEAST_STEP]


def halo_pct(sides: Array) -> float:
    """How far the edges run past both their ends, per cent of the step, the lesser side; 0 when that is not sure.

    sides: (m, 2) from `overshoots`. By medians, so that single edges do not count.
    """
    if len(sides) < FEWEST:
        return 0.0
    in_order = np.sort(sides, axis=0)
    # the order statistic below which the median lies with one chance in ten
    lower = in_order[max(0, math.floor(len(sides) / 2 - 0.64 * math.sqrt(len(sides))))]
    lesser, greater = sorted(float(v) for v in np.median(sides, axis=0))
    if 100 * float(lower.min()) <= SURE_PCT or greater > ONE_SIDED * lesser:
        return 0.0
    return 100 * lesser
