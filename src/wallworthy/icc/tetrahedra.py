"""Looking single colours up in a table without setting the whole of it up, by the same tetrahedra as `icc.lut`."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.icc.engine import in_slices

Floats = NDArray[np.float32]
Corners = tuple[NDArray[np.intp], Floats]
"""The four nodes around each of n colours, counted along a table laid flat, and their shares, both (4, n)."""

PIECE: Final = 1 << 13


def corners(size: int, colours: NDArray[Any]) -> Corners:
    """The nodes around colours (n, 3), 0-1, in a table of `size` nodes an edge, the last channel fastest.

    >>> corners(2, np.array([[1.0, 0.25, 0.0]], np.float32))[1].ravel().tolist()
    [0.0, 0.75, 0.25, 0.0]
    """
    place = np.clip(np.asarray(colours, dtype=np.float32).T, 0, 1) * np.float32(size - 1)
    low = np.minimum(place.astype(np.intp), size - 2)
    place -= low
    first, second, third = place
    largest, smallest = np.maximum(np.maximum(first, second), third), np.minimum(np.minimum(first, second), third)
    middle = np.maximum(np.minimum(first, second), np.minimum(np.maximum(first, second), third))
    steps = size * size, size, 1
    along = np.where((first >= second) & (first >= third), steps[0], np.where(second >= third, steps[1], steps[2]))
    last = np.where((third <= first) & (third < second), steps[2], np.where(second < first, steps[1], steps[0]))
    last = np.where((third <= second) & (third <= first), steps[2], last)
    node = np.empty((4, place.shape[1]), dtype=np.intp)
    node[0] = low[0] * steps[0] + low[1] * size + low[2]
    np.add(node[0], along, out=node[1])
    np.add(node[0], sum(steps), out=node[3])
    np.subtract(node[3], last, out=node[2])
    return node, np.stack([1 - largest, largest - middle, middle - smallest, smallest])


def node_colours(size: int, node: NDArray[np.intp]) -> Floats:
    """The colours (..., 3), 0-1, of nodes counted as `corners` counts them."""
    steps = np.linspace(0.0, 1.0, size, dtype=np.float32)
    return np.stack([steps[node // (size * size)], steps[node // size % size], steps[node % size]], axis=-1)


def between(values: NDArray[Any], share: Floats) -> Floats:
    """Values at the corners (4, n, K) to values between them (n, K)."""
    return np.asarray((values * share[..., None]).sum(axis=0), dtype=np.float32)


def looked_up(nodes: Floats, places: Corners) -> Floats:
    """A table (N, N, N, K) at the places `corners` found: (n, K). For a whole picture `icc.lut` is quicker."""
    flat = nodes.reshape(-1, nodes.shape[-1])
    node, share = places
    out = np.empty((node.shape[1], flat.shape[1]), dtype=np.float32)

    def work(part: slice) -> None:
        for start in range(part.start, part.stop, PIECE):
            piece = slice(start, min(start + PIECE, part.stop))
            total = flat.take(node[0, piece], axis=0)
            total *= share[0, piece, None]
            for corner in range(1, 4):
                more = flat.take(node[corner, piece], axis=0)
                more *= share[corner, piece, None]
                total += more
            out[piece] = total

    in_slices(len(out), work)
    return out
