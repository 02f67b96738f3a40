"""Lightness that a print shall have more, or less, by place and by tone: what one curve for all of it can't give.

A coarse grid over the picture's rows, columns and lightness, read smoothly: neighbours of like lightness move
together, and an edge stays an edge, since its two sides lie in different tones. Chosen by going uphill in the likeness
to the master (`fit.likeness`), with a price on straying from its lightness. Defined by this project (docs/why/fit.md).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.sparse import csr_matrix

from wallworthy.fit.eye import WINDOW_REACH
from wallworthy.fit.likeness import Floats, Likeness, Real
from wallworthy.raster.filters import reduced

Array = NDArray[np.float64]

CELL_DEG: Final = 0.53
"""The grid's step over the picture, degrees of view."""
LEAST_CELL_PX: Final = 4.0
"""The same, at least, in pixels that are climbed with."""
TONES: Final = 8
"""The grid's steps over lightness, from black to white."""
LOOKED_AT: Final = 90_000
"""Pixels that are climbed with, at most."""
STEPS: Final = 40
STRAY: Final = 1.6e-4
"""Price of a pixel one L* off the master's, squared, against the logarithm of likeness."""
APART: Final = -0.02
"""Least slope that may be added to dark tones: the print's steps there stay apart (`fit.tone.APART`)."""
DARK_STEPS: Final = 2
"""Of the grid over lightness: up to L* 29."""
STEEPEST: Final = 0.35
"""Most slope that is added to any tones, or taken from light ones: a ramp stays one."""
LEFT: Final = 0.1
"""Least slope of the print's curve that the grid leaves of it."""
ROUGH: Final = 1e-5
"""Price of a step of one L* from one node of the grid to the next, squared."""


TOLD_IN: Final = 1000.0
"""What all prices are told in when steps are judged to be small."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Which part of the shown picture some rows are: what lies around them counts for where they are."""

    top: int
    left: int
    height: int
    width: int
    """Of the whole shown picture, pixels; top and left are where the rows begin."""


NOWHERE: Final = Frame(0, 0, 1, 1)


@dataclass(frozen=True, slots=True, eq=False)
class Lights:
    """What a print shall have more. nodes: (rows, columns, TONES), working RGB (L* / 100), over the shown picture from
    edge to edge and from black to white.
    """

    nodes: Floats = field(repr=False)

    def at(self, light: Real, frame: Frame) -> Floats:
        """What pixels of a lightness, working RGB (H, W), shall have more, as many. Every pixel by itself."""
        rows = _between(frame.top, light.shape[0], frame.height, self.nodes.shape[0])
        columns = _between(frame.left, light.shape[1], frame.width, self.nodes.shape[1])
        first, last = int(rows[0][0]), int(rows[0][-1]) + 2
        planes = np.moveaxis(self.nodes[first:last], -1, 0)
        near, far = planes[:, :, columns[0]], planes[:, :, columns[0] + 1]
        wide = near + columns[1] * (far - near)
        # a broken line over lightness: where it begins, and what each piece of it adds
        parts = np.concatenate([wide[:1], np.diff(wide, axis=0)])
        place = np.clip(light, 0, 1) * np.float32(len(parts) - 1)
        total = np.zeros(light.shape, np.float32)
        down = rows[1][:, None]
        for n, part in enumerate(parts):
            here = part[rows[0] - first]
            here = here + down * (part[rows[0] - first + 1] - here)
            total += here if n == 0 else here * np.clip(place - np.float32(n - 1), 0, 1)
        return total


def _between(first: int, count: int, whole: int, nodes: int) -> tuple[NDArray[np.int64], Floats]:
    """For pixels from `first` on along an axis of `whole`: the node before each, and how far to the next."""
    place = (np.arange(first, first + count) + 0.5) / whole * (nodes - 1)
    low = np.clip(np.floor(place).astype(np.int64), 0, nodes - 2)
    return low, (place - low).astype(np.float32)


def lights_for(
    master: Real,
    light: Real,
    printed: Real,
    black_lstar: float,
    px_per_degree: float,
    weight: Real | None = None,
    *,
    wanted: Real | None = None,
    tone: Array | None = None,
) -> Lights | None:
    """Choose for a picture. All (H, W): L* of the master, its lightness by working RGB, L* of its print so far, and
    how much each pixel matters (all alike by default). wanted: L* that straying is priced from, by default the
    master's. tone: (101,) the print's curve, whose slope the grid may not use up. None for pictures too small for this.
    """
    step = max(1, math.ceil(math.sqrt(master.size / LOOKED_AT)))
    master, light, printed = (_smaller(plane, step) for plane in (master, light, printed))
    aim = master.ravel() if wanted is None else _smaller(wanted, step).ravel()
    matters = None if weight is None else _smaller(weight, step)
    if min(master.shape) < 4 * WINDOW_REACH:
        return None
    cell = max(CELL_DEG * px_per_degree / step, LEAST_CELL_PX)
    rows, columns = (max(2, round(size / cell) + 1) for size in master.shape)
    shape = rows, columns, TONES
    slices = _slices(light, shape)
    likeness = Likeness(master, matters)
    share = 1 / aim.size if matters is None else (matters / matters.sum()).ravel()

    def lost(steps: Array) -> tuple[float, Array]:
        nodes = np.cumsum(steps.reshape(shape), axis=-1)
        asked = printed.ravel() + (slices @ nodes.ravel().astype(np.float32))
        held = np.clip(asked, black_lstar, 100).astype(np.float32)
        unlike, slope = likeness.lost(held.reshape(master.shape))
        away = held - aim
        pull = slope.ravel() + 2 * STRAY * share * away
        pull[(asked < black_lstar) | (asked > 100)] = 0
        price, by_node = _roughness(nodes)
        value = unlike + STRAY * float((share * away * away).sum()) + ROUGH * price
        by_node += np.asarray(slices.T @ pull, dtype=np.float64).reshape(shape) / ROUGH
        by_step = np.cumsum((ROUGH * by_node)[..., ::-1], axis=-1)[..., ::-1]
        return TOLD_IN * value, TOLD_IN * by_step.ravel()

    start = np.zeros(int(np.prod(shape)))
    found = minimize(lost, start, jac=True, method="L-BFGS-B", bounds=_bounds(shape, tone), options={"maxiter": STEPS})
    nodes = np.cumsum(found.x.reshape(shape), axis=-1)
    return Lights((nodes / 100).astype(np.float32))


def _bounds(shape: tuple[int, int, int], tone: Array | None) -> Array:
    """Lowest and highest of black and of each step to the next tone, L*, (nodes, 2)."""
    step = 100 / (shape[2] - 1)
    low = np.array([0.0, *[APART] * DARK_STEPS, *[-STEEPEST] * (shape[2] - 1 - DARK_STEPS)])
    if tone is not None:
        slopes = np.diff(tone)
        at = (np.arange(len(slopes)) / step).astype(np.int64)
        least = np.array([slopes[at == n].min() for n in range(shape[2] - 1)])
        low[1:] = np.maximum(low[1:], np.minimum(LEFT - least, 0))
    high = np.full(shape[2], STEEPEST)
    return np.broadcast_to(np.stack([low, high], axis=-1) * step, (*shape, 2)).reshape(-1, 2)


def _smaller(plane: Real, step: int) -> Floats:
    plane = np.asarray(plane, dtype=np.float32)
    return plane if step == 1 else reduced(plane, step)


def _slices(light: Real, shape: tuple[int, int, int]) -> csr_matrix:
    """What `Lights.at` makes of nodes, as a matrix (pixels, nodes)."""
    rows = _between(0, light.shape[0], light.shape[0], shape[0])
    columns = _between(0, light.shape[1], light.shape[1], shape[1])
    place = np.clip(light, 0, 1) * (shape[2] - 1)
    low = np.minimum(np.floor(place).astype(np.int64), shape[2] - 2)
    tones = low, place - low
    axes = ((rows[0][:, None], rows[1][:, None]), (columns[0][None], columns[1][None]), tones)
    index = np.empty((light.size, 8), np.int32)
    share = np.empty((light.size, 8), np.float32)
    for n in range(8):
        steps = (n & 1, n >> 1 & 1, n >> 2)
        corner = [np.broadcast_to(axis[0] + step, light.shape) for axis, step in zip(axes, steps, strict=True)]
        weights = [axis[1] if step else 1 - axis[1] for axis, step in zip(axes, steps, strict=True)]
        index[:, n] = np.ravel_multi_index(tuple(corner), shape).ravel()
        share[:, n] = (weights[0] * weights[1] * weights[2]).ravel()
    starts = np.arange(light.size + 1, dtype=np.int32) * 8
    return csr_matrix((share.ravel(), index.ravel(), starts), shape=(light.size, int(np.prod(shape))))


def _roughness(nodes: Array) -> tuple[float, Array]:
    """The mean squared step from node to node, summed over the axes, and its slope."""
    total, slope = 0.0, np.zeros_like(nodes)
    for axis in range(3):
        steps = np.diff(nodes, axis=axis)
        total += float((steps * steps).mean())
        by_step = 2 * steps / steps.size
        ahead = [slice(None)] * 3
        ahead[axis] = slice(1, None)
        slope[tuple(ahead)] += by_step
        behind = [slice(None)] * 3
        behind[axis] = slice(None, -1)
        slope[tuple(behind)] -= by_step
    return total, slope
