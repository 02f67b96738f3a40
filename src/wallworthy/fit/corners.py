"""A table's nodes beside black and white, chosen so that what lies between them comes out right.

At black and at white a paper holds greys only, a little further on it holds colours, too: there the map is a cone, and
the nodes around its tip ask for colours that no paper holds. What they themselves print matters to nobody; what lies
between them and the greys does. Sampled as they are they took the colour from the first cells and gave it back at once
in the next, a step of 1.7 dE00 in a smooth ramp.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.fit.bounded import least_within
from wallworthy.icc.lut import Nodes
from wallworthy.icc.tetrahedra import corners

Chain = Callable[[NDArray[Any]], NDArray[np.float32]]

CELLS: Final = 2
"""Cells from the tip, each way, whose colours are looked at; nodes on their far side stay."""
COLOURS: Final = 12_000
AWAY: Final = (0.1, 0.3, 0.7, 1.5)
"""How far from the grey axis they are drawn, cells."""
NEAR_GREY: Final = 0.5
"""Cells between the least and the largest channel at which a colour counts half."""
KEPT: Final = 0.02
"""What leaving the sampled nodes counts for: where nothing is seen of them they stay."""


def rounded(nodes: Nodes, chain: Chain) -> Nodes:
    """The table (N, N, N, K) with the nodes around black and white, greys but for, nearest to the chain between them.

    Least squares in device values, within 0-1. `nodes` stays as it is.
    """
    size, inks = len(nodes), nodes.shape[-1]
    flat = nodes.reshape(-1, inks).astype(np.float64)
    for white in (False, True):
        colours = _beside_grey(size)
        colours = 1 - colours if white else colours
        node, share = corners(size, colours)
        cell = np.stack([node // (size * size), node // size % size, node % size], axis=-1)
        from_tip = size - 1 - cell if white else cell
        grey = (cell == cell[..., :1]).all(axis=-1)
        free = (from_tip.max(axis=-1) < CELLS) & ~grey
        moved = np.unique(node[free])
        row = np.broadcast_to(np.arange(len(colours)), node.shape)
        parts = np.zeros((len(colours), len(moved)))
        np.add.at(parts, (row[free], np.searchsorted(moved, node[free])), share[free])
        fixed = np.einsum("nc,nck->ck", np.where(free, 0, share), flat[node])
        spread = (colours.max(axis=1) - colours.min(axis=1)) * (size - 1)
        weight = 1 / (1 + (spread / NEAR_GREY) ** 2)
        weight *= len(moved) / weight.sum()
        square = (parts * weight[:, None]).T @ parts + KEPT**2 * np.eye(len(moved))
        pull = (parts * weight[:, None]).T @ (chain(colours) - fixed) + KEPT**2 * flat[moved]
        low, high = np.zeros(len(moved)), np.ones(len(moved))
        flat[moved] = np.stack([least_within(square, pull[:, ink], low, high) for ink in range(inks)], axis=-1)
    return flat.reshape(nodes.shape).astype(np.float32)


def _beside_grey(size: int) -> NDArray[np.float32]:
    """Colours (n, 3), 0-1, in the first CELLS cells from black, most of them near the grey axis."""
    random = np.random.default_rng(size)
    colours = random.random((COLOURS, 1)) * CELLS + random.normal(0, 1, (COLOURS, 3)) * random.choice(
        AWAY, (COLOURS, 1)
    )
    within = ((colours >= 0) & (colours <= CELLS)).all(axis=1)
    return (colours[within] / (size - 1)).astype(np.float32)
