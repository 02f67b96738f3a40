"""Where a picture loses most: up to five places, as boxes of cells that do not overlap.

From the worst cell its region is followed: neighbouring cells (a gap of one is bridged) that lose at
least half as much and whose colour is alike. A box is then grown around the worst cell as long as each
new side is at least half of that region. All that hangs together with it, is alike and visibly lost
is then set aside, so that the next place tells something else.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from wallworthy.base.records import Box
from wallworthy.proof.cells import Cells, Grid

Mask = NDArray[np.bool_]

VISIBLE_DE00: Final = 2.0
"""Below this a difference is not seen in a picture (common practice, no source)."""

OF_THE_WORST: Final = 0.5
ALIKE_LAB: Final = 28.0
SIDE_IN_REGION: Final = 0.5


@dataclass(frozen=True, slots=True)
class Place:
    """A box of cells (first row, first column, end row, end column, ends excluded) and the region it stands for."""

    cells_box: tuple[int, int, int, int]
    region: Mask = field(repr=False)
    loss_mean_de00: float
    loss_max_de00: float
    share: float
    """Of the picture's pixels, those in the region."""


def find_places(cells: Cells, most: int) -> list[Place]:
    """Up to `most` places that lose visibly, as they were found: the one with the worst cell first."""
    counts = cells.grid.counts()
    mean_loss = cells.loss / counts
    colour = cells.before / cells.weight[..., None]
    free = np.ones(counts.shape, dtype=bool)
    boxed = np.zeros(counts.shape, dtype=bool)
    places: list[Place] = []
    while len(places) < most:
        open_loss = np.where(free, mean_loss, -1.0)
        seed = np.unravel_index(int(open_loss.argmax()), counts.shape)
        worst = float(open_loss[seed])
        if worst < VISIBLE_DE00:
            break
        alike = np.linalg.norm(colour - colour[seed], axis=-1) <= ALIKE_LAB
        lost = _joined(free & alike & (mean_loss >= VISIBLE_DE00), seed)
        region = _joined(lost & (mean_loss >= OF_THE_WORST * worst), seed)
        box = _grown((int(seed[0]), int(seed[1])), region, boxed)
        inside = np.s_[box[0] : box[2], box[1] : box[3]]
        places.append(
            Place(
                box,
                region,
                loss_mean_de00=float(cells.loss[inside].sum() / counts[inside].sum()),
                loss_max_de00=float(cells.loss_max[inside].max()),
                share=float(counts[region].sum() / counts.sum()),
            )
        )
        boxed[inside] = True
        free &= ~lost
        free[inside] = False
    return places


def _joined(wanted: Mask, seed: tuple[np.intp, ...]) -> Mask:
    """The part of a mask that hangs together with the seed cell, over gaps of one cell."""
    labels = np.zeros(wanted.shape, dtype=np.int32)
    around = np.ones((3, 3), dtype=bool)
    ndimage.label(ndimage.binary_dilation(wanted, structure=around), structure=around, output=labels)
    return np.asarray(wanted & (labels == labels[seed]))


def place_box(place: Place, grid: Grid, size: tuple[int, int], shown_px: Box) -> Box:
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


def _grown(seed: tuple[int, int], region: Mask, boxed: Mask) -> tuple[int, int, int, int]:
    """Grow a box from a cell, side by side, while the new side lies half in the region and in no earlier box."""
    top, left, bottom, right = seed[0], seed[1], seed[0] + 1, seed[1] + 1
    growing = True
    while growing:
        growing = False
        for side in _sides(top, left, bottom, right, region.shape):
            rows, columns = slice(side[0], side[2]), slice(side[1], side[3])
            if region[rows, columns].mean() >= SIDE_IN_REGION and not boxed[rows, columns].any():
                top, left = min(top, side[0]), min(left, side[1])
                bottom, right = max(bottom, side[2]), max(right, side[3])
                growing = True
                break
    return top, left, bottom, right


def _sides(top: int, left: int, bottom: int, right: int, shape: tuple[int, ...]) -> Iterator[tuple[int, int, int, int]]:
    """The strips of one cell around a box that lie within the picture, shortest first."""
    strips: list[tuple[int, int, int, int]] = []
    if top > 0:
        strips.append((top - 1, left, top, right))
    if bottom < shape[0]:
        strips.append((bottom, left, bottom + 1, right))
    if left > 0:
        strips.append((top, left - 1, bottom, left))
    if right < shape[1]:
        strips.append((top, right, bottom, right + 1))
    return iter(sorted(strips, key=lambda s: (s[2] - s[0]) * (s[3] - s[1])))
