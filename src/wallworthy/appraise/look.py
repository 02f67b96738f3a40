"""One pass through a picture: everything the appraisal needs of its pixels, in bounded memory.

Each strip is looked at by itself, on a few threads; what is kept of it is small. Full-size pixels are kept
only of the tiles with the crispest detail in each part of the picture.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.appraise.blemishes import Line, Spot, find_hot, find_lines, line_columns, line_rows
from wallworthy.appraise.enlarged import calm_squares, repeats_of
from wallworthy.appraise.jpeg import patches_of
from wallworthy.appraise.noise import Blocks, blocks_of
from wallworthy.appraise.resolution import Tile
from wallworthy.appraise.tones import Counts, counts_of
from wallworthy.base.progress import Progress, silent
from wallworthy.colour.working import WORKING_TO_XYZ
from wallworthy.raster.filters import mixed, reduced, separate
from wallworthy.raster.stream import ordered_map

Samples = NDArray[Any]
Floats = NDArray[np.float32]
Array = NDArray[np.float64]

ROWS: Final = 256
"""Rows of a strip; a multiple of every reduction and of the tiles' side."""

TILE: Final = 256
TONE: Final = tuple(float(v) for v in WORKING_TO_XYZ[1])
"""Weights of the working channels in the tone; on greys it is L*/100."""

SMALL_PIXELS: Final = 1_600_000
"""The reduced picture has at most about so many."""

WIDE_PX: Final = 12_000
"""Strips wider than this are looked at one after another."""

MOST_BLOCKS: Final = 30_000
PATCHES_A_STRIP: Final = 160
SQUARES_A_STRIP: Final = 12
TILES_A_STRIP: Final = 8
SMALL_PICTURE: Final = 2_500_000
"""Pictures of fewer pixels than this keep all their tiles."""


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """How a picture of a size is looked at."""

    width_px: int
    height_px: int
    factor: int
    """Reduction of the small picture."""
    block_step: int
    tiles: int
    """Tiles kept of a strip; 0 for all."""

    @classmethod
    def of(cls, width: int, height: int) -> Plan:
        factor = 1
        while width * height / factor**2 > SMALL_PIXELS and factor < 32:
            factor *= 2
        small = width * height < SMALL_PICTURE
        return cls(width, height, factor, max(1, width * height // 64 // MOST_BLOCKS), 0 if small else TILES_A_STRIP)


@dataclass(frozen=True, slots=True, eq=False)
class StripSeen:
    """What is kept of one strip."""

    first: int
    counts: Counts
    tiles: tuple[tuple[float, Tile], ...]
    blocks: Blocks
    patches: Floats
    squares: Floats
    repeats: int
    hot: tuple[Spot, ...]
    rows: Array
    columns: Array
    small: Floats
    """The reduced working picture (rows, columns, 3), 0-1."""
    ends: Floats
    """Share of pixels at the top and at the bottom of any channel, (rows, columns, 2), reduced alike."""


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """What one pass found; places are in the looked-at picture's own pixels."""

    plan: Plan
    counts: Counts
    floating: bool
    tiles: tuple[Tile, ...]
    blocks: Blocks
    patches: Floats
    squares: Floats
    repeats: int
    hot: tuple[Spot, ...]
    lines: tuple[Line, ...]
    small: Floats
    ends: Floats

    @property
    def tone(self) -> Floats:
        """The reduced picture's tone."""
        return tone_of(self.small)


def tone_of(working: NDArray[Any]) -> Floats:
    """Tone, L*/100 on greys, of working values: uint16, or floats 0-1; (rows, columns, 3) to (rows, columns)."""
    scale = 1.0 / 65535 if working.dtype == np.uint16 else 1.0
    return mixed(working, tuple(weight * scale for weight in TONE))


def look_at(
    pairs: Iterable[tuple[Samples, NDArray[np.uint16]]], width: int, height: int, progress: Progress = silent
) -> Look:
    """Look at a picture from top to bottom.

    pairs: strips of ROWS rows (the last may be shorter): the file's own samples (rows, width, channels) and the
    working encoding (rows, width, 3) uint16. Errors of the source pass through.
    """
    plan = Plan.of(width, height)
    first = np.arange(0, height, ROWS)

    def work(item: tuple[int, tuple[Samples, NDArray[np.uint16]]]) -> StripSeen:
        return see_strip(item[0], item[1][0], item[1][1], plan)

    seen: list[StripSeen] = []
    floating = False

    def numbered() -> Iterable[tuple[int, tuple[Samples, NDArray[np.uint16]]]]:
        nonlocal floating
        for start, pair in zip(first.tolist(), pairs, strict=True):
            floating = pair[0].dtype.kind == "f"
            yield start, pair

    # wide strips are large: one at a time keeps memory bounded, and they are still read ahead
    workers = 2 if width <= WIDE_PX else 1
    for strip in ordered_map(work, numbered(), workers=workers, ahead=workers):
        seen.append(strip)
        progress("looking at the picture", min(1.0, (strip.first + ROWS) / height))
    return _together(seen, plan, floating)


def see_strip(first: int, samples: Samples, working: NDArray[np.uint16], plan: Plan) -> StripSeen:
    """All that is kept of a strip whose first row is `first`."""
    tone = tone_of(working)
    planes = separate(samples)
    counts = counts_of(planes)
    return StripSeen(
        first=first,
        counts=counts,
        tiles=_tiles(tone, first, plan),
        blocks=blocks_of(tone, working, plan.block_step),
        patches=patches_of(samples, PATCHES_A_STRIP, first),
        squares=calm_squares(tone, SQUARES_A_STRIP),
        repeats=repeats_of(samples) if first == 0 else 1,
        hot=tuple(find_hot(tone, 0.0, first)),
        rows=line_rows(tone),
        columns=line_columns(tone),
        small=_small(working, plan.factor),
        ends=_ends(planes, counts, plan.factor),
    )


def _tiles(tone: Floats, first: int, plan: Plan) -> tuple[tuple[float, Tile], ...]:
    """Tiles of the strip with how crisp they are; the crispest of each part of the strip, or all of them."""
    rows, width = tone.shape
    if rows < 48:
        return ()
    starts = list(range(0, max(1, width - TILE // 2), TILE))
    found: list[tuple[float, int]] = []
    for start in starts:
        part = tone[2::4, start : start + TILE]
        slope = np.abs(np.diff(part, axis=1))
        found.append((float(np.partition(slope.ravel(), -24)[-24:].mean()) if slope.size > 48 else 0.0, start))
    if plan.tiles and len(found) > plan.tiles:
        groups = np.array_split(np.arange(len(found)), plan.tiles)
        found = [max(found[i] for i in group) for group in groups]
    return tuple(
        (score, Tile(first, start, np.ascontiguousarray(tone[:, start : min(start + TILE, width)])))
        for score, start in found
        if min(width - start, TILE) >= 48
    )


def _small(working: NDArray[np.uint16], factor: int) -> Floats:
    few = working.astype(np.float32) if factor == 1 else reduced(working, factor)
    few *= np.float32(1 / 65535)
    return few


def _ends(planes: tuple[Samples, ...], counts: Counts, factor: int) -> Floats:
    """Where any channel stands at its top or bottom, as shares of the reduced picture's pixels."""
    floating = planes[0].dtype.kind == "f"
    low, high = (0, 1) if floating else (0, int(np.iinfo(planes[0].dtype).max))
    rows, columns = (edge // factor for edge in planes[0].shape)
    found = np.zeros((rows, columns, 2), np.float32)
    for number, end in enumerate((-1, 0)):
        if not counts[:, end].any():
            continue
        touched = np.zeros(planes[0].shape, np.bool_)
        for plane in planes:
            touched |= plane >= high if number == 0 else plane <= low
        touched = touched.astype(np.float32)
        found[..., number] = touched if factor == 1 else reduced(touched, factor)
    return found


def _together(seen: list[StripSeen], plan: Plan, floating: bool) -> Look:
    tiles = [tile for _, tile in _best_of(seen, plan)]
    column_parts = np.concatenate([strip.columns for strip in seen], axis=1)
    lines = find_lines(np.concatenate([strip.rows for strip in seen]), down=False)
    lines += find_lines(column_parts, down=True)
    return Look(
        plan=plan,
        counts=np.sum([strip.counts for strip in seen], axis=0),
        floating=floating,
        tiles=tuple(tiles),
        blocks=Blocks(
            np.concatenate([strip.blocks.tone for strip in seen]),
            np.concatenate([strip.blocks.variance for strip in seen]),
            np.concatenate([strip.blocks.channels for strip in seen]),
            np.concatenate([strip.blocks.neighbours for strip in seen]),
        ),
        patches=np.concatenate([strip.patches for strip in seen]),
        squares=np.concatenate([strip.squares for strip in seen]),
        repeats=seen[0].repeats,
        hot=tuple(spot for strip in seen for spot in strip.hot),
        lines=lines,
        small=np.concatenate([strip.small for strip in seen if strip.small.size]),
        ends=np.concatenate([strip.ends for strip in seen if strip.ends.size]),
    )


MOST_TILES: Final = 48


def _best_of(seen: list[StripSeen], plan: Plan) -> list[tuple[float, Tile]]:
    """The tiles that are analysed: all of a small picture, else the crispest in each of 6 x 8 parts."""
    every = [pair for strip in seen for pair in strip.tiles]
    if not plan.tiles:
        return every
    best: dict[tuple[int, int], tuple[float, Tile]] = {}
    for score, tile in every:
        part = (tile.row * 6 // plan.height_px, tile.column * 8 // plan.width_px)
        if part not in best or score > best[part][0]:
            best[part] = (score, tile)
    return sorted(best.values(), key=lambda pair: (pair[1].row, pair[1].column))[:MOST_TILES]
