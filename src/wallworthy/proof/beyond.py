"""How much of a picture lies outside the condition's colours, without asking for every pixel.

Pixels are sorted into small boxes of Lab. Coarse boxes (2 units) whose corners all lie on one side of
the line are decided as a whole; only those that the line cuts are cut into fine ones (0.25 units).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.records import Correction
from wallworthy.colour.correction import correct
from wallworthy.colour.float32 import Planes

Array = NDArray[np.float64]
Beyond = Callable[[Array], ArrayLike]
"""Media-relative Lab (n, 3) to dE00 outside the condition's colours, 0 inside."""

FINE: Final = 0.25
SUB: Final = 8
"""Fine boxes along the edge of a coarse one."""

L_BOXES: Final = 52
AB_BOXES: Final = 256
AB_LOWEST: Final = -256.0


def codes_of(lab: Planes) -> NDArray[np.int32]:
    """The fine box each pixel of Lab planes (3, n) lies in, as one number: coarse * 512 + fine."""
    fine_l = _boxes(lab[0], 0.0, L_BOXES * SUB)
    fine_a = _boxes(lab[1], AB_LOWEST, AB_BOXES * SUB)
    fine_b = _boxes(lab[2], AB_LOWEST, AB_BOXES * SUB)
    coarse = ((fine_l >> 3) * AB_BOXES + (fine_a >> 3)) * AB_BOXES + (fine_b >> 3)
    return (coarse << 9) | ((fine_l & 7) << 6) | ((fine_a & 7) << 3) | (fine_b & 7)


def share_beyond(codes: NDArray[np.int32], beyond: Beyond, correction: Correction, tolerance_de00: float) -> float:
    """Share (0-1) of pixels whose corrected colour lies outside by more than the tolerance.

    codes: as `codes_of` gives them for the master's Lab. Agrees with asking for every pixel to
    about the share of colours that lie within 0.2 dE00 of the line.
    """
    flat = codes.ravel()
    counts = np.bincount(flat >> 9, minlength=1)
    used = np.flatnonzero(counts)
    least, most = _corner_extremes(used, beyond, correction)
    near = (least <= tolerance_de00) & (most > tolerance_de00)
    outside = int(counts[used[least > tolerance_de00]].sum())
    if near.any():
        rank = np.full(len(counts), -1, dtype=np.int32)
        rank[used[near]] = np.arange(int(near.sum()), dtype=np.int32)
        ranked = rank[flat >> 9]
        picked = ranked >= 0
        fine_counts = np.bincount((ranked[picked].astype(np.int64) << 9) | (flat[picked] & 511))
        fine_used = np.flatnonzero(fine_counts)
        centres = _fine_centres(used[near][fine_used >> 9], fine_used & 511)
        outside += int(fine_counts[fine_used[_asked(centres, beyond, correction) > tolerance_de00]].sum())
    return outside / max(1, flat.size)


def _boxes(values: NDArray[np.float32], lowest: float, count: int) -> NDArray[np.int32]:
    return np.clip((values - lowest) * (1 / FINE), 0, count - 1).astype(np.int32)


def _corner(coarse: NDArray[np.int64]) -> Array:
    l_box, rest = np.divmod(coarse, AB_BOXES * AB_BOXES)
    a_box, b_box = np.divmod(rest, AB_BOXES)
    return np.stack([l_box, a_box, b_box], axis=-1) * (FINE * SUB) + (0.0, AB_LOWEST, AB_LOWEST)


def _corner_extremes(coarse: NDArray[np.int64], beyond: Beyond, correction: Correction) -> tuple[Array, Array]:
    """The least and the most excess at the eight corners of each coarse box; shared corners are asked for once."""
    side = AB_BOXES + 1
    l_box, rest = np.divmod(coarse, AB_BOXES * AB_BOXES)
    a_box, b_box = np.divmod(rest, AB_BOXES)
    first = (l_box * side + a_box) * side + b_box
    steps = [(i * side + j) * side + k for i in (0, 1) for j in (0, 1) for k in (0, 1)]
    corners, inverse = np.unique(first[:, None] + np.array(steps), return_inverse=True)
    l_node, rest = np.divmod(corners, side * side)
    a_node, b_node = np.divmod(rest, side)
    lab = np.stack([l_node, a_node, b_node], axis=-1) * (FINE * SUB) + (0.0, AB_LOWEST, AB_LOWEST)
    excess = _asked(lab, beyond, correction)[inverse.reshape(-1, 8)]
    return excess.min(axis=1), excess.max(axis=1)


def _fine_centres(coarse: NDArray[np.int64], fine: NDArray[np.int64]) -> Array:
    within = np.stack([fine >> 6, (fine >> 3) & 7, fine & 7], axis=-1)
    return _corner(coarse) + (within + 0.5) * FINE


def _asked(master_lab: Array, beyond: Beyond, correction: Correction) -> Array:
    """Excess of corrected colours; white and black stay on the ends of L* whatever box they fell in."""
    master_lab[:, 0] = np.clip(master_lab[:, 0], 0.0, 100.0)
    return np.asarray(beyond(correct(master_lab, correction)), dtype=np.float64)
