"""How much of a picture lies outside the condition's colours, without asking for every pixel."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from typing import Final

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
CELLS: Final = NODES - 1
STEPS: Final = np.array([CELLS**2, CELLS, 1], np.float32)
"""From a cell to its neighbours along red, green and blue, in cells laid in a row."""
ROWS: Final = 128
"""Rows of the picture looked up at a time."""


def share_beyond(picture: NDArray[np.float32], beyond: Beyond, correction: Correction, tolerance_de00: float) -> float:
    """Share (0-1) of pixels whose corrected colour lies outside by more than the tolerance.

    picture: (H, W, 3) in the working encoding, before the correction. The distance is asked for at
    those of 33 nodes an edge of the working cube that the picture's colours lie between, and interpolated
    there; signed distances (`icc.gamut`, `signed_de00`) go smoothly through the surface and so give the truest line.
    """
    asked = nodes_between(picture)
    lab = correct(working_to_lab(nodes_grid(NODES)[asked]), correction)
    nodes = np.zeros((NODES, NODES, NODES, 1), dtype=np.float32)
    nodes[asked, 0] = np.asarray(beyond(lab), dtype=np.float32)
    look_up = prepared_lut(nodes)
    outside = 0
    for row in range(0, picture.shape[0], ROWS):
        outside += int(np.count_nonzero(look_up(picture[row : row + ROWS]) > tolerance_de00))
    return outside / max(1, picture.shape[0] * picture.shape[1])


def nodes_between(picture: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Which nodes (33, 33, 33) of the working cube are corners of a cell that holds a pixel of (H, W, 3), 0-1."""
    filled = np.zeros(CELLS**3, dtype=np.bool_)
    for row in range(0, picture.shape[0], ROWS):
        place = picture[row : row + ROWS].reshape(-1, 3) * np.float32(CELLS)
        np.clip(np.floor(place, out=place), 0, CELLS - 1, out=place)
        filled[(place @ STEPS).astype(np.intp)] = True
    cells = filled.reshape(CELLS, CELLS, CELLS)
    nodes = np.zeros((NODES, NODES, NODES), dtype=np.bool_)
    for red, green, blue in product((0, 1), repeat=3):
        nodes[red : red + CELLS, green : green + CELLS, blue : blue + CELLS] |= cells
    return nodes
