"""Resampling in strips: exact geometry, the kernel truly used when enlarging, bounded memory.

Smaller: antialiased Lanczos kernel of three lobes on linear light (the eye averages light).
Larger: Catmull-Rom cubic in the working, L*-shaped, encoding. Both as banded matrix products
in fixed blocks, so that the result does not depend on the strips it is asked for in.
Kernels: Duchon1979 (Lanczos), Keys1981 (cubic with a = -1/2).
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.pixels import LightSource, PixelSource
from wallworthy.colour.float32 import unit_lightness32
from wallworthy.colour.lab import y_from_lightness
from wallworthy.raster.filters import looked_up
from wallworthy.raster.kernels import Block, axis_blocks, product_into
from wallworthy.raster.reduce import reduced
from wallworthy.raster.stream import ordered_map, prefetched, rechunk, rows_for

Floats = NDArray[np.float32]
Doubles = NDArray[np.float64]

GRID: Final = np.float32(65535 * 16)
"""Results lie on a grid 16 times finer than 16 bits, so a constant stays one constant."""

BLOCKS_PER_PIECE: Final = 2


def scaled_strips(source: PixelSource, width_px: int, height_px: int, rows: int) -> Iterator[Floats]:
    """The picture at another size, in strips of `rows` (the last may be shorter).

    Yields float32 (rows, width_px, 3), working encoding, 0-1. At the source's own size the
    samples are its own, divided by 65535. Pixel centres: output j lies at
    (j + 1/2) * in / out - 1/2; beyond the edge the edge pixel is repeated.

    Errors of the source pass through. Source: Keys1981, Duchon1979.
    """
    if (width_px, height_px) == (source.width_px, source.height_px):
        return (strip.astype(np.float32) / np.float32(65535) for strip in rechunk(source.strips(rows), rows))
    return rechunk(_resampled(source, width_px, height_px), rows)


def scaled_picture(source: PixelSource, width_px: int, height_px: int) -> Floats:
    """The whole picture at another size, float32 (height_px, width_px, 3), working encoding, 0-1."""
    picture = np.empty((height_px, width_px, 3), np.float32)
    row = 0
    for strip in scaled_strips(source, width_px, height_px, rows_for(width_px)):
        picture[row : row + strip.shape[0]] = strip
        row += strip.shape[0]
    return picture


def scaled_codes(source: PixelSource, width_px: int, height_px: int) -> NDArray[np.uint16]:
    """The same in 16 bits, uint16 (height_px, width_px, 3): half the memory."""
    codes = np.empty((height_px, width_px, 3), np.uint16)
    row = 0
    for strip in scaled_strips(source, width_px, height_px, rows_for(width_px)):
        codes[row : row + strip.shape[0]] = np.rint(strip * np.float32(65535))
        row += strip.shape[0]
    return codes


def resampled_line(values: Doubles, count: int) -> Doubles:
    """A line of working values (n,), 0-1, at `count` pixels by the same kernels and encodings."""
    if count == values.shape[0]:
        return values
    weights = np.zeros((values.shape[0], count))
    for block in axis_blocks(values.shape[0], count):
        weights[block.first_in : block.last_in, block.first_out : block.last_out] = block.weights
    if count > values.shape[0]:
        return np.clip(values @ weights, 0.0, 1.0)
    light = (y_from_lightness(values * 100) @ weights).astype(np.float32)
    return unit_code(light).astype(np.float64)


def _resampled(source: PixelSource, width: int, height: int) -> Iterator[Floats]:
    if width < source.width_px and height < source.height_px:
        return _reduced(source, width, height)
    return _by_codes(source, width, height)


def _reduced(source: PixelSource, width: int, height: int) -> Iterator[Floats]:
    """A reduction; in the picture's own light where it has one, whose matrix then comes after, on the fewer pixels."""
    rows = rows_for(source.width_px)
    light = source.light(rows) if isinstance(source, LightSource) else None
    if light is None:
        table = decoding(True)
        strips, linear, finish = source.strips(rows), functools.partial(looked_up, table), unit_code
    else:
        strips, linear, finish = light.strips, light.linear, functools.partial(_mixed, light.matrix)
    raw = rechunk(prefetched(strips), rows)
    return reduced(raw, linear, finish, (source.width_px, source.height_px), (width, height))


def _mixed(matrix: Floats, light: Floats) -> Floats:
    """Planes of a picture's own light through its matrix, to the working encoding."""
    mixed = np.empty_like(light)
    for channel in range(3):  # not a matrix product, whose last digit depends on how many pixels there are
        column = matrix[:, channel]
        mixed[channel] = light[0] * column[0] + light[1] * column[1] + light[2] * column[2]
    return unit_code(mixed)


def _by_codes(source: PixelSource, width: int, height: int) -> Iterator[Floats]:
    """What is enlarged, in the working encoding; reduced along one edge alone, by way of light."""
    reduces = width < source.width_px or height < source.height_px
    table = decoding(reduces)
    rows_in = rows_for(max(source.width_px, width))
    raw = rechunk(prefetched(source.strips(rows_in)), rows_in)
    across = _across(source.width_px, width)
    finish = unit_code if reduces else on_grid
    across_first = width > source.width_px or height > source.height_px

    def before(strip: NDArray[np.uint16]) -> Floats:
        flat = looked_up(table, strip).reshape(strip.shape[0], -1)
        return across(flat) if across_first else flat

    def after(piece: Callable[[], Floats]) -> Floats:
        flat = piece()
        return finish(flat if across_first else across(flat)).reshape(flat.shape[0], width, 3)

    yield from ordered_map(after, _down(ordered_map(before, raw), source.height_px, height))


@functools.lru_cache(maxsize=2)
def decoding(light: bool) -> Floats:
    values = np.arange(65536) / 65535
    return (y_from_lightness(values * 100) if light else values).astype(np.float32)


def _across(count_in: int, count_out: int) -> Callable[[Floats], Floats]:
    """Resampling along rows: (rows, count_in * 3) interleaved to (rows, count_out * 3)."""
    if count_in == count_out:
        return lambda flat: flat
    blocks = [(b, np.kron(b.weights, np.eye(3, dtype=np.float32))) for b in axis_blocks(count_in, count_out)]

    def resample(flat: Floats) -> Floats:
        out = np.empty((flat.shape[0], count_out * 3), np.float32)
        for block, weights in blocks:
            given = out[:, block.first_out * 3 : block.last_out * 3]
            product_into(given, flat[:, block.first_in * 3 : block.last_in * 3], weights)
        return out

    return resample


def _down(lines: Iterable[Floats], count_in: int, count_out: int) -> Iterator[Callable[[], Floats]]:
    """Resampling along columns, in pieces of work; holds only the rows the next ones still need."""
    if count_in == count_out:
        for flat in lines:
            yield functools.partial(_same, flat)
        return
    coming = iter(lines)
    held = next(coming)
    first = 0
    blocks = axis_blocks(count_in, count_out)
    for start in range(0, len(blocks), BLOCKS_PER_PIECE):
        group = blocks[start : start + BLOCKS_PER_PIECE]
        pieces = [held[group[0].first_in - first :]]
        first = group[0].first_in
        have = first + pieces[0].shape[0]
        while have < group[-1].last_in:
            flat = next(coming)
            pieces.append(flat)
            have += flat.shape[0]
        held = pieces[0] if len(pieces) == 1 else np.concatenate(pieces)
        yield functools.partial(_piece_down, group, held, first)
    for _ in coming:  # lets the threads above end
        pass


def _same(flat: Floats) -> Floats:
    return flat


def _piece_down(group: tuple[Block, ...], held: Floats, first: int) -> Floats:
    out = np.empty((group[-1].last_out - group[0].first_out, held.shape[1]), np.float32)
    for block in group:
        given = out[block.first_out - group[0].first_out : block.last_out - group[0].first_out]
        product_into(given, np.ascontiguousarray(block.weights.T), held[block.first_in - first : block.last_in - first])
    return out


def on_grid(values: Floats) -> Floats:
    values *= GRID
    np.rint(values, out=values)
    np.clip(values, 0, GRID, out=values)
    values /= GRID
    return values


def unit_code(light: Floats) -> Floats:
    """Linear light to the working encoding, L*/100, clipped to 0-1 and on the grid."""
    return on_grid(unit_lightness32(light))
