"""How much of a picture lies outside the condition's colours, without asking for every pixel."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.records import Correction
from wallworthy.colour.correction import correct
from wallworthy.colour.working import working_to_lab
from wallworthy.icc.lut import nodes_grid, prepared_lut

Array = NDArray[np.float64]
Beyond = Callable[[Array], ArrayLike]
"""Media-relative Lab (n, 3) to dE00 outside the condition's colours; best negative inside, as far as that goes."""

NODES: Final = 33
ROWS: Final = 128
"""Rows of the picture looked up at a time."""


def share_beyond(picture: NDArray[np.float32], beyond: Beyond, correction: Correction, tolerance_de00: float) -> float:
    """Share (0-1) of pixels whose corrected colour lies outside by more than the tolerance.

    picture: (H, W, 3) in the working encoding, before the correction. The distance is asked for at
    33 nodes an edge of the working cube and interpolated between them; signed distances
    (`icc.gamut`, `signed_de00`) go smoothly through the surface and so give the truest line.
    """
    lab = correct(working_to_lab(nodes_grid(NODES)), correction)
    nodes: NDArray[Any] = np.asarray(beyond(lab.reshape(-1, 3)), dtype=np.float32)
    look_up = prepared_lut(nodes.reshape(NODES, NODES, NODES, 1))
    outside = 0
    for row in range(0, picture.shape[0], ROWS):
        outside += int(np.count_nonzero(look_up(picture[row : row + ROWS]) > tolerance_de00))
    return outside / max(1, picture.shape[0] * picture.shape[1])
