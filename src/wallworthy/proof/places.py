"""Where a picture loses most: up to five places, as boxes of cells that do not overlap.

In each family of colours, cells that lose visibly and hang together (gaps of one cell are bridged) are a
region. Regions are taken by how much they lose and, less, by how large they are. A box grows
around the worst cell of a region, side by side, while at least half of the new side belongs to its
core: the cells that lose at least half as much as the worst.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Box
from wallworthy.proof.cells import FAMILIES, Cells, Grid
from wallworthy.raster.filters import bridged, mean_around, numbered, widened

Mask = NDArray[np.bool_]
CellBox = tuple[int, int, int, int]

VISIBLE_DE00: Final = 2.0
"""Below this a difference is not seen in a picture (common practice, no source)."""

LEAST_OF_CELL: Final = 0.08
"""A family speaks for a cell when it fills at least this share of it."""

CORE: Final = 0.5
SIDE_IN_CORE: Final = 0.5
OWN_PLACE: Final = 0.3
"""A region of which less than this share lies outside earlier boxes is told of with the place that holds it."""

ALSO_LOSS: Final = 0.6
ALSO_SHARE: Final = 0.25
"""Told of only when it loses, and covers, at least these parts of what the place's own region does."""

ROOM_SHARE: Final = 0.005
KEPT: Final = 0.5
"""A region within another's box that covers at least this share of the picture gets a box of its own, if the other
keeps at least this part of its."""

REGIONS_LOOKED_AT: Final = 80

SIZE_COUNTS: Final = 0.25
"""Power of a region's share of the picture in its rank: sixteen times as large counts twice."""


@dataclass(frozen=True, slots=True)
class Region:
    """Cells of one family that lose visibly and hang together."""

    family: int
    mask: Mask = field(repr=False)
    share: float
    """Of the picture's pixels, those of this family in these cells."""
    loss_mean_de00: float
    """Of those pixels."""

    @property
    def rank(self) -> float:
        return self.loss_mean_de00 * self.share**SIZE_COUNTS


@dataclass(frozen=True, slots=True)
class Place:
    """A box of cells (first row, first column, end row, end column, ends excluded) and what it stands for."""

    cells_box: CellBox
    region: Region
    loss_mean_de00: float
    """Of all pixels in the box."""
    also: Region | None = None
    """Another family that loses in the same box and so can't have one of its own."""


Accept = Callable[[Place, Sequence[Place]], bool]
"""Whether a place is taken beside others."""


def choose_places(cells: Cells, most: int, accept: Accept) -> list[Place]:
    """Up to `most` places that lose visibly and that `accept` takes, most important first."""
    boxed = np.zeros(cells.grid.shape, dtype=bool)
    chosen: list[Place] = []
    for region in sorted(_regions(cells), key=lambda region: -region.rank)[:REGIONS_LOOKED_AT]:
        count = np.where(region.mask, cells.count[region.family], 0.0)
        if count[~boxed].sum() < OWN_PLACE * count.sum():
            held = [float(count[_inside(place.cells_box)].sum()) for place in chosen]
            holder = int(np.argmax(held))
            if _told_with(chosen[holder], region):
                chosen[holder] = replace(chosen[holder], also=region)
            elif len(chosen) < most:
                chosen = _made_room(cells, chosen, holder, region, accept)
                boxed = _boxed(cells.grid, chosen)
        elif len(chosen) < most:
            place = _place(cells, _box(cells, region, boxed), region)
            if accept(place, chosen):
                chosen.append(place)
                boxed[_inside(place.cells_box)] = True
    return chosen


def _place(cells: Cells, box: CellBox, region: Region) -> Place:
    inside = _inside(box)
    loss = cells.loss[:, *inside].sum() / cells.grid.counts()[inside].sum()
    return Place(box, region, float(loss))


def _inside(box: CellBox) -> tuple[slice, slice]:
    return slice(box[0], box[2]), slice(box[1], box[3])


def _boxed(grid: Grid, places: Sequence[Place]) -> Mask:
    boxed = np.zeros(grid.shape, dtype=bool)
    for place in places:
        boxed[_inside(place.cells_box)] = True
    return boxed


def _told_with(holder: Place, region: Region) -> bool:
    """Whether the place whose box holds most of a region tells of it too: unless it tells of another already."""
    main = holder.region
    worth_it = region.loss_mean_de00 >= ALSO_LOSS * main.loss_mean_de00 and region.share >= ALSO_SHARE * main.share
    return worth_it and holder.also is None and main.family != region.family


def _made_room(cells: Cells, chosen: list[Place], holder: int, region: Region, accept: Accept) -> list[Place]:
    """The places with one of its own for a region within another's box, which gives way to it; else as they were.

    Only for what is compact and large enough to be seen as a place, and where the other keeps most of its box.
    """
    main = chosen[holder]
    if region.share < ROOM_SHARE or region.family == main.region.family:
        return chosen
    others = chosen[:holder] + chosen[holder + 1 :]
    box = _box(cells, region, _boxed(cells.grid, others))
    count, counts = np.where(region.mask, cells.count[region.family], 0.0), cells.grid.counts()
    rest = _beside(main.cells_box, box)
    if count[_inside(box)].sum() < SIDE_IN_CORE * counts[_inside(box)].sum() or _area(rest) < KEPT * _area(
        main.cells_box
    ):
        return chosen
    smaller, own = _place(cells, rest, main.region), _place(cells, box, region)
    if main.also is not None and main.also.mask[_inside(rest)].sum() >= KEPT * main.also.mask.sum():
        smaller = replace(smaller, also=main.also)
    if not (accept(smaller, others) and accept(own, [*others, smaller])):
        return chosen
    return [*chosen[:holder], smaller, *chosen[holder + 1 :], own]


def _beside(box: CellBox, other: CellBox) -> CellBox:
    """The largest part of a box that lies whole above, below, left or right of another."""
    top, left, bottom, right = box
    parts = [
        (top, left, min(bottom, other[0]), right),
        (max(top, other[2]), left, bottom, right),
        (top, left, bottom, min(right, other[1])),
        (top, max(left, other[3]), bottom, right),
    ]
    return max(parts, key=_area)


def _area(box: CellBox) -> int:
    return max(0, box[2] - box[0]) * max(0, box[3] - box[1])


def _regions(cells: Cells) -> Iterator[Region]:
    counts = cells.grid.counts()
    for family in range(FAMILIES):
        count, loss = cells.count[family], cells.loss[family]
        lost = (count >= LEAST_OF_CELL * counts) & (loss >= VISIBLE_DE00 * np.maximum(count, 1))
        if not lost.any():
            continue
        labels = numbered(widened(lost)) * lost
        for label in np.unique(labels[lost]):
            mask = labels == label
            pixels = float(count[mask].sum())
            yield Region(family, mask, pixels / float(counts.sum()), float(loss[mask].sum()) / pixels)


def _box(cells: Cells, region: Region, boxed: Mask) -> CellBox:
    """The box around a region's worst part outside the boxes already drawn (some of it must lie there)."""
    counts = cells.grid.counts()
    density = np.where(region.mask, cells.loss[region.family] / counts, 0.0)
    around = mean_around(density)
    free = region.mask & ~boxed
    seed = np.unravel_index(int(np.where(free, around, -1.0).argmax()), counts.shape)
    core = region.mask & (around >= CORE * float(around[seed]))
    return _grown((int(seed[0]), int(seed[1])), (core | bridged(core)) & ~boxed, boxed)


def place_box(place: Place, grid: Grid, size: tuple[int, ...], shown_px: Box) -> Box:
    """A place's box in master pixels; `shown_px` is the part of the master that the picture (size (H, W)) shows."""
    top, left, height, width = shown_px
    rows = grid.rows[[place.cells_box[0], place.cells_box[2]]] * height / size[0]
    columns = grid.columns[[place.cells_box[1], place.cells_box[3]]] * width / size[1]
    first_row, end_row = (round(float(v)) for v in rows)
    first_column, end_column = (round(float(v)) for v in columns)
    first_row, first_column = min(first_row, height - 1), min(first_column, width - 1)
    return top + first_row, left + first_column, max(1, end_row - first_row), max(1, end_column - first_column)


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes share a pixel."""
    return all(one[i] < other[i] + other[i + 2] and other[i] < one[i] + one[i + 2] for i in (0, 1))


def touching(one: Place, other: Place) -> bool:
    """Whether two boxes of cells share an edge or a corner."""
    return all(
        one.cells_box[i] <= other.cells_box[i + 2] and other.cells_box[i] <= one.cells_box[i + 2] for i in (0, 1)
    )


def _grown(seed: tuple[int, int], core: Mask, boxed: Mask) -> CellBox:
    """Grow a box from a cell, side by side, while the new side lies half in the core and in no earlier box."""
    top, left, bottom, right = seed[0], seed[1], seed[0] + 1, seed[1] + 1
    growing = True
    while growing:
        growing = False
        for side in _sides((top, left, bottom, right), core.shape):
            strip = np.s_[side[0] : side[2], side[1] : side[3]]
            if core[strip].mean() >= SIDE_IN_CORE and not boxed[strip].any():
                top, left = min(top, side[0]), min(left, side[1])
                bottom, right = max(bottom, side[2]), max(right, side[3])
                growing = True
                break
    return top, left, bottom, right


def _sides(box: CellBox, shape: tuple[int, ...]) -> list[CellBox]:
    """The strips of one cell around a box that lie within the picture, shortest first."""
    top, left, bottom, right = box
    strips: list[CellBox] = []
    if top > 0:
        strips.append((top - 1, left, top, right))
    if bottom < shape[0]:
        strips.append((bottom, left, bottom + 1, right))
    if left > 0:
        strips.append((top, left - 1, bottom, left))
    if right < shape[1]:
        strips.append((top, right, bottom, right + 1))
    return sorted(strips, key=lambda s: (s[2] - s[0]) * (s[3] - s[1]))
