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
from wallworthy.icc.engine import in_slices
from wallworthy.icc.lut import nodes_grid, prepared_lut

Array = NDArray[np.float64]
Beyond = Callable[[Array], ArrayLike]
"""Media-relative Lab (n, 3) to dE00 outside the condition's colours; best negative inside, as far as that goes."""

NODES: Final = 33
CELLS: Final = NODES - 1
STEPS: Final = np.array([CELLS**2, CELLS, 1], np.float32)
"""From a cell to its neighbours along red, green and blue, in cells laid in a row."""
PIECE: Final = 1 << 17
"""Pixels worked at a time."""


def share_beyond(picture: NDArray[np.float32], beyond: Beyond, correction: Correction, tolerance_de00: float) -> float:
    """Share (0-1) of pixels whose corrected colour lies outside by more than the tolerance.

    picture: (H, W, 3) in the working encoding, before the correction. The distance is asked for at
    those of 33 nodes an edge of the working cube that the picture's colours lie between, and interpolated
    there; signed distances (`icc.gamut`, `signed_de00`) go smoothly through the surface and so give the truest line.
    Cells whose corners all lie on one side need no interpolation.
    """
    pixels = picture.reshape(-1, 3)
    cells, counts = cells_of(pixels)
    asked = _corners(counts > 0)
    lab = correct(working_to_lab(nodes_grid(NODES)[asked]), correction)
    nodes = np.zeros((NODES, NODES, NODES, 1), dtype=np.float32)
    nodes[asked, 0] = np.asarray(beyond(lab), dtype=np.float32)
    corners = [nodes[r : r + CELLS, g : g + CELLS, b : b + CELLS, 0] for r, g, b in product((0, 1), repeat=3)]
    some = (np.max(corners, axis=0) > tolerance_de00).ravel()
    every = (np.min(corners, axis=0) > tolerance_de00).ravel()
    unsure = pixels[(some & ~every)[cells]]
    outside = int(counts[every].sum()) + int(np.count_nonzero(prepared_lut(nodes)(unsure) > tolerance_de00))
    return outside / max(1, len(pixels))


def cells_of(pixels: NDArray[np.float32]) -> tuple[NDArray[np.uint16], NDArray[np.int64]]:
    """The cell of the working cube that each of (n, 3) pixels, 0-1, lies in, and how many lie in each (32768,)."""
    cells = np.empty(len(pixels), dtype=np.uint16)
    counts = np.zeros(CELLS**3, dtype=np.int64)

    def work(part: slice) -> None:
        for start in range(part.start, part.stop, PIECE):
            piece = slice(start, min(start + PIECE, part.stop))
            place = pixels[piece] * np.float32(CELLS)
            np.clip(np.floor(place, out=place), 0, CELLS - 1, out=place)
            cells[piece] = place @ STEPS

    in_slices(len(pixels), work)
    for start in range(0, len(cells), PIECE):
        counts += np.bincount(cells[start : start + PIECE], minlength=CELLS**3)
    return cells, counts


def _corners(filled: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which nodes (33, 33, 33) of the working cube are corners of a cell (32768,) that holds something."""
    cells = filled.reshape(CELLS, CELLS, CELLS)
    nodes = np.zeros((NODES, NODES, NODES), dtype=np.bool_)
    for red, green, blue in product((0, 1), repeat=3):
        nodes[red : red + CELLS, green : green + CELLS, blue : blue + CELLS] |= cells
    return nodes
