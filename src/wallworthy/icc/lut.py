"""Applying a baked table: tetrahedral interpolation through OpenColorIO, in slices on two threads."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any, Final, overload

import numpy as np
import PyOpenColorIO
from numpy.typing import NDArray

from wallworthy.icc.engine import in_slices

ocio: Any = PyOpenColorIO
Nodes = NDArray[np.float32]

PIECE: Final = 1 << 15
"""Pixels looked up at a time, so that what is copied for it stays small."""

LARGEST_EDGE: Final = 129
"""OpenColorIO's limit of nodes per edge."""


@overload
def nodes_grid(size: int) -> NDArray[np.float64]: ...
@overload
def nodes_grid(size: int, dtype: type[np.float32]) -> Nodes: ...
def nodes_grid(size: int, dtype: type[np.floating[Any]] = np.float64) -> NDArray[Any]:
    """The working RGB values of a table's nodes, (N, N, N, 3), axes R, G, B.

    >>> nodes_grid(2)[1, 0, 0].tolist()
    [1.0, 0.0, 0.0]
    """
    steps = np.linspace(0.0, 1.0, size, dtype=dtype)
    grid = np.empty((size, size, size, 3), dtype)
    for channel, shape in enumerate(((size, 1, 1), (size, 1), (size,))):
        grid[..., channel] = steps.reshape(shape)
    return grid


def apply_lut(nodes: Nodes, pixels: NDArray[Any]) -> NDArray[np.float32]:
    """Look pixels up in a table, interpolating in tetrahedra.

    nodes: (N, N, N, K) float32, axes R, G, B, N from 2 to 129, any K and any values.
    pixels: (..., 3) uint16 (0-65535 for 0-1) or floats 0-1, which are clamped to the cube.
    Returns (..., K) float32. Raises ValueError for NaN, which OpenColorIO would turn into 0 silently.
    """
    return prepared_lut(nodes)(pixels)


def prepared_lut(nodes: Nodes) -> Callable[[NDArray[Any]], NDArray[np.float32]]:
    """`apply_lut` of one table for many strips: setting a large table up costs as much as a megapixel's look-up."""
    size, channels = nodes.shape[0], nodes.shape[-1]
    if nodes.ndim != 4 or nodes.shape[:3] != (size,) * 3 or not 2 <= size <= LARGEST_EDGE:
        raise ValueError(f"a table of shape {nodes.shape} is no cube of 2 to {LARGEST_EDGE} nodes an edge")
    if np.isnan(nodes).any():
        raise ValueError("the table holds NaN")
    groups = [(first, min(3, channels - first)) for first in range(0, channels, 3)]

    @functools.cache
    def lookups(depth: Any) -> list[Any]:
        return [_lookup(nodes[..., first : first + count], depth) for first, count in groups]

    def look_up(pixels: NDArray[Any]) -> NDArray[np.float32]:
        if pixels.dtype != np.uint16:
            pixels = np.asarray(pixels, dtype=np.float32)
            if np.isnan(pixels).any():
                raise ValueError("pixels hold NaN")
        depth = ocio.BIT_DEPTH_UINT16 if pixels.dtype == np.uint16 else ocio.BIT_DEPTH_F32
        prepared = lookups(depth)
        out = np.empty((*pixels.shape[:-1], channels), dtype=np.float32)
        flat, result = pixels.reshape(-1, 3), out.reshape(-1, channels)

        def work(part: slice) -> None:
            for start in range(part.start, part.stop, PIECE):
                piece = slice(start, min(start + PIECE, part.stop))
                source = np.ascontiguousarray(flat[piece])
                count = len(source)
                item = source.itemsize
                described = ocio.PackedImageDesc(source, count, 1, 3, depth, item, 3 * item, 3 * item * count)
                target = result[piece] if channels == 3 else np.empty((count, 3), dtype=np.float32)
                into = ocio.PackedImageDesc(target, count, 1, 3)
                for (first, wide), lookup in zip(groups, prepared, strict=True):
                    lookup.apply(described, into)
                    if channels != 3:
                        result[piece, first : first + wide] = target[:, :wide]

        if len(flat):
            in_slices(len(flat), work)
        return out

    return look_up


def prepared_codes(nodes: Nodes) -> Callable[[NDArray[np.uint16]], NDArray[np.uint8]]:
    """A table of three channels of display values, 0-1, straight to 8-bit codes, rounded: for what must be quick.

    nodes: (N, N, N, 3) float32. The function takes (H, W, 3) uint16 and returns (H, W, 3) uint8.
    """
    prepared = _lookup(nodes, ocio.BIT_DEPTH_UINT16, ocio.BIT_DEPTH_UINT8)

    def look_up(pixels: NDArray[np.uint16]) -> NDArray[np.uint8]:
        out = np.empty(pixels.shape, dtype=np.uint8)
        flat, result = np.ascontiguousarray(pixels).reshape(-1, 3), out.reshape(-1, 3)

        def work(part: slice) -> None:
            for start in range(part.start, part.stop, PIECE):
                piece = slice(start, min(start + PIECE, part.stop))
                source, target, count = flat[piece], result[piece], len(flat[piece])
                described = ocio.PackedImageDesc(source, count, 1, 3, ocio.BIT_DEPTH_UINT16, 2, 6, 6 * count)
                into = ocio.PackedImageDesc(target, count, 1, 3, ocio.BIT_DEPTH_UINT8, 1, 3, 3 * count)
                prepared.apply(described, into)

        if len(flat):
            in_slices(len(flat), work)
        return out

    return look_up


def _lookup(nodes: Nodes, depth: Any, into: Any = ocio.BIT_DEPTH_F32) -> Any:
    """An OpenColorIO processor for up to three channels of a table."""
    three = np.zeros((*nodes.shape[:3], 3), dtype=np.float32)
    three[..., : nodes.shape[-1]] = nodes
    table = ocio.Lut3DTransform(nodes.shape[0])
    table.setInterpolation(ocio.INTERP_TETRAHEDRAL)
    table.setData(three.ravel())
    processor = ocio.Config.CreateRaw().getProcessor(table)
    return processor.getOptimizedCPUProcessor(depth, into, ocio.OPTIMIZATION_NONE)
