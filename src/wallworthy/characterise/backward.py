"""The B2A and gamut tables: a Lab grid whose nodes are inverted one by one.

The grid's values run from -0.5 to 1.5 and the output curve cuts them to 0-1. So a node just outside the
gamut can carry the straight continuation of the device values inside, and interpolation across the gamut's
boundary meets the boundary itself instead of rounding it off. Further out this fades into the nearest
printable colour. What interpolation still gets wrong in the cells the boundary crosses is measured at points
inside the gamut and laid upon those nodes (`_fitted_at_boundary`).
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

from wallworthy.characterise.inverse import Inverter, Targets, colour_measure, kept_to_limit

Array = NDArray[np.float64]

LAB_STEPS: Final = 33
"""Nodes along each axis of Lab."""
LOW: Final = -0.5
HIGH: Final = 1.5
CURVE_SAMPLES: Final = 4093
"""0 and 1 fall on samples: 4092 is divisible by 4."""
WHITE_MARGIN: Final = 0.003
"""White's node lies this far beyond no ink, so that rounding on the way never lays any."""
CONTINUED_LAB: Final = 7.0
FADED_LAB: Final = 16.0
"""Full continuation up to 7 units of Lab outside, none from 16 on."""
CONTINUED_PULL: Final = 12.0
INSIDE_LAB: Final = 0.3
"""A node whose printed colour is nearer than this counts as inside the gamut."""
BOUNDARY_SAMPLES: Final = 6
"""Points in each cell that the boundary crosses."""
BOUNDARY_SWEEPS: Final = 20
RELAXATION: Final = 1.6
INSIDE_MOVE: Final = 0.02
OUTSIDE_MOVE: Final = 0.06
BEYOND_MOVE: Final = 0.4
"""How far a node may move: inside the gamut, outside it, and in channels that the curve cuts anyway."""
GAMUT_SPAN: Final = 20.0
GAMUT_TOLERANCE: Final = 0.75


@dataclass(frozen=True, slots=True, eq=False)
class LabGrid:
    """Nodes of a table over Lab: rising L*, a*, b* of equal count."""

    lightness: Array
    a: Array
    b: Array

    @property
    def size(self) -> int:
        return len(self.lightness)

    def points(self) -> Array:
        """(size ** 3, 3), L* slowest; the last L* counts as exactly 100."""
        lightness = self.lightness.copy()
        lightness[-1] = 100.0
        return np.stack(np.meshgrid(lightness, self.a, self.b, indexing="ij"), axis=-1).reshape(-1, 3)

    @property
    def white(self) -> int:
        """Index of (100, 0, 0) among the points."""
        n, middle = self.size, self.size // 2
        return ((n - 1) * n + middle) * n + middle


@dataclass(frozen=True, slots=True, eq=False)
class Backward:
    """A table from Lab to device: clut (g, g, g, K) of stored values 0-1, its curves (K, n), and what was found."""

    grid: LabGrid
    clut: Array = field(repr=False)
    curves: Array = field(repr=False)
    device: Array = field(repr=False)
    """(g ** 3, K) printable device values of each node."""
    missed: Array = field(repr=False)
    """(g ** 3,) distance from each node to its printed colour, Lab units."""


def lab_grid(gamut_lab: Array, black_lstar: float, size: int = LAB_STEPS) -> LabGrid:
    """Nodes spent where the gamut is: denser near neutral and black, three beyond it on each side of a* and b*.

    gamut_lab: (N, 3) a sample of printable colours; black_lstar: the darkest neutral, which gets a node.
    """
    black = max(black_lstar, 0.5)
    below = min(max(1, round(black / 7)), 3)
    rising = np.linspace(0, 1, size - below) ** 1.12
    lightness = np.concatenate([np.linspace(0, black, below + 1)[:-1], black + (99.99 - black) * rising])
    halves: list[Array] = []
    for axis in (1, 2):
        low, high = -float(gamut_lab[:, axis].min()), float(gamut_lab[:, axis].max())
        halves.append(np.concatenate([-_half(low, 128.0, size)[:0:-1], _half(high, 127.0, size)]))
    return LabGrid(lightness, halves[0], halves[1])


def _half(reach: float, end: float, size: int) -> Array:
    half = size // 2
    reach = min(max(reach * 1.04, 10.0), 0.9 * end)
    inner = half - 3
    return np.concatenate([reach * np.linspace(0, 1, inner + 1) ** 1.15, np.linspace(reach, end, 4)[1:]])


def build_backward(inverter: Inverter, grid: LabGrid, targets: Targets, white_device: float) -> Backward:
    """Invert every node's target (targets.lab may differ from the node: perceptual).

    white_device: the value of all channels on bare paper (1 for RGB, 0 for inks).
    """
    channels = inverter.grid.channels
    start = inverter.nearest_start(targets, 17 if channels == 3 else 9)
    device, cost = inverter.solve(targets, start)
    device, cost = _share_with_neighbours(inverter, targets, device, cost, grid.size)
    missed = np.linalg.norm(inverter.grid.lab(device) - targets.lab, axis=1)
    device = _calmed(device, missed, grid.size)
    device = kept_to_limit(device, inverter.ink_limit)
    device[grid.white] = white_device
    stored = _continued(inverter, targets, device, missed)
    stored = _fitted_at_boundary(inverter, targets, stored, missed, grid.size)
    stored = _black_held(inverter, stored, missed, grid)
    stored[grid.white] = white_device + (WHITE_MARGIN if white_device > 0.5 else -WHITE_MARGIN)
    clut = ((stored - LOW) / (HIGH - LOW)).reshape(grid.size, grid.size, grid.size, channels)
    return Backward(grid, clut, output_curves(channels), device, missed)


def output_curves(channels: int) -> Array:
    """(channels, n): stored 0-1 to device, cut to 0-1."""
    curve = np.clip(LOW + (HIGH - LOW) * np.arange(CURVE_SAMPLES) / (CURVE_SAMPLES - 1), 0, 1)
    return np.tile(curve, (channels, 1))


def gamut_table(backward: Backward, lab: Array, printed: Array) -> tuple[Array, Array]:
    """(clut (g, g, g, 1), curves (1, n)): 0 within the gamut (and up to 0.75 outside), else Lab units outside / 20.

    lab, printed: (g ** 3, 3) the nodes and what is printed for them. Stored is the signed distance to the
    surface, so that the boundary runs between nodes where it belongs.
    """
    outside = backward.missed > INSIDE_LAB
    surface = printed[outside]
    inside_depth, _ = KDTree(surface).query(lab[~outside])
    signed = backward.missed.copy()
    signed[~outside] = -inside_depth
    size = backward.grid.size
    clut = np.clip((signed + GAMUT_SPAN) / (2 * GAMUT_SPAN), 0, 1).reshape(size, size, size, 1)
    beyond = -GAMUT_SPAN + 2 * GAMUT_SPAN * np.arange(CURVE_SAMPLES) / (CURVE_SAMPLES - 1)
    return clut, np.where(beyond > GAMUT_TOLERANCE, np.clip(beyond / GAMUT_SPAN, 0, 1), 0.0)[None]


def _share_with_neighbours(
    inverter: Inverter, targets: Targets, device: Array, cost: Array, size: int
) -> tuple[Array, Array]:
    """Start each badly met node again from its neighbours' answers, so that no node is stuck in a valley of its own."""
    channels = device.shape[1]
    for axis, step in ((0, 1), (0, -1), (1, 1), (1, -1), (2, 1), (2, -1)):
        moved = np.roll(device.reshape(size, size, size, channels), step, axis=axis).reshape(-1, channels)
        poor = np.flatnonzero(cost > 0.02)
        part = targets.subset(poor)
        better = inverter.cost(part, moved[poor]) < cost[poor]
        chosen = poor[better]
        if len(chosen):
            found, left = inverter.solve(targets.subset(chosen), moved[chosen], iterations=12)
            gain = left < cost[chosen]
            device[chosen[gain]], cost[chosen[gain]] = found[gain], left[gain]
    return device, cost


def _calmed(device: Array, missed: Array, size: int) -> Array:
    """Even out nodes far outside the gamut with their neighbours, so that gradients there stay smooth."""
    weight = np.clip((missed - FADED_LAB) / FADED_LAB, 0, 1)[:, None] * 0.8
    for _ in range(3):
        device = device * (1 - weight) + _around(device, size) * weight
    return device


def _around(device: Array, size: int) -> Array:
    """The mean of each node's six neighbours, (nodes, K)."""
    box = np.pad(device.reshape(size, size, size, -1), ((1, 1), (1, 1), (1, 1), (0, 0)), mode="edge")
    around = (
        box[:-2, 1:-1, 1:-1] + box[2:, 1:-1, 1:-1] + box[1:-1, :-2, 1:-1]
        + box[1:-1, 2:, 1:-1] + box[1:-1, 1:-1, :-2] + box[1:-1, 1:-1, 2:]
    ) / 6  # fmt: skip
    return around.reshape(device.shape)


def _black_held(inverter: Inverter, stored: Array, missed: Array, grid: LabGrid) -> Array:
    """Below the darkest neutral nothing gets lighter again, so that a neutral ramp never turns round.

    Light channels (RGB) don't rise again; ink mixtures that print lighter than the one above give way to it.
    """
    column = np.arange(grid.size) * grid.size**2 + grid.white % grid.size**2
    printed = inverter.grid.lab(np.clip(stored[column], 0, 1))[:, 0]
    for place in range(grid.size // 2, -1, -1):
        below, above = column[place], column[place + 1]
        if missed[below] <= INSIDE_LAB:
            continue
        if inverter.ink_limit is None:
            stored[below] = np.minimum(stored[below], stored[above])
        elif printed[place] > printed[place + 1]:
            stored[below], printed[place] = stored[above], printed[place + 1]
    return stored


def _continued(inverter: Inverter, targets: Targets, device: Array, missed: Array) -> Array:
    """Stored values: beyond 0-1 near the gamut's outside, fading into the printable values.

    Nodes held by the ink limit stay: beyond it there is nothing to continue into.
    """
    stored = device.copy()
    near = (missed > 0.02) & (missed < FADED_LAB)
    if inverter.ink_limit is not None:
        near &= device.sum(axis=1) < inverter.ink_limit - 0.02
    chosen = np.flatnonzero(near)
    if len(chosen) == 0:
        return stored
    part = targets.subset(chosen)
    black = None if part.black is None else device[chosen, -1]
    straight = Targets(part.lab, colour_measure(part.lab, 1.0), black, CONTINUED_PULL)
    found, _ = inverter.solve(straight, device[chosen], low=LOW, high=HIGH)
    share = np.clip((FADED_LAB - missed[chosen]) / (FADED_LAB - CONTINUED_LAB), 0, 1)[:, None]
    stored[chosen] = device[chosen] + share * (found - device[chosen])
    return kept_to_limit(stored, inverter.ink_limit)


def _fitted_at_boundary(inverter: Inverter, targets: Targets, stored: Array, missed: Array, size: int) -> Array:
    """Move the nodes around crossed cells until interpolation meets exact answers at points inside the gamut.

    A simultaneous back-projection of the errors left after the cut to 0-1; ink limit kept, neutrals left alone.
    """
    inside = missed < INSIDE_LAB
    strides = np.array([size * size, size, 1])
    sides = np.array(list(itertools.product((0, 1), repeat=3)))
    cells = np.stack(np.meshgrid(*([np.arange(size - 1)] * 3), indexing="ij"), axis=-1).reshape(-1, 3)
    count = inside[(cells @ strides)[:, None] + sides @ strides].sum(axis=1)
    crossed = cells[(count > 0) & (count < 8)]
    if len(crossed) == 0:
        return stored

    fraction = np.random.default_rng(7).random((len(crossed), BOUNDARY_SAMPLES, 3)).reshape(-1, 3)
    nodes = (np.repeat(crossed, BOUNDARY_SAMPLES, axis=0) @ strides)[:, None] + sides @ strides
    weight = np.prod(np.where(sides[None] == 1, fraction[:, None, :], 1 - fraction[:, None, :]), axis=2)
    lab = np.einsum("nc,nck->nk", weight, targets.lab[nodes])
    black = None if targets.black is None else np.einsum("nc,nc->n", weight, targets.black[nodes])
    asked = Targets(lab, colour_measure(lab), black, targets.black_pull)
    first = np.clip(np.einsum("nc,nck->nk", weight, stored[nodes]), 0, 1)
    exact, _ = inverter.solve(asked, first)
    met = np.linalg.norm(inverter.grid.lab(exact) - lab, axis=1) < INSIDE_LAB
    nodes, weight, exact = nodes[met], weight[met], exact[met]

    spread = np.bincount(nodes.ravel(), weights=weight.ravel(), minlength=len(stored))
    usable = spread > 0.05
    neutral = (np.abs(targets.lab[:, 1:]) < 1e-6).all(axis=1)
    usable &= ~(inside & neutral)
    if inverter.ink_limit is not None:
        usable &= np.maximum(stored, 0).sum(axis=1) < inverter.ink_limit - 0.02
    before = stored.copy()
    beyond = (before <= 0) | (before >= 1)
    room = np.where(inside[:, None], INSIDE_MOVE, np.where(beyond, BEYOND_MOVE, OUTSIDE_MOVE))
    for _ in range(BOUNDARY_SWEEPS):
        error = exact - np.clip(np.einsum("nc,nck->nk", weight, stored[nodes]), 0, 1)
        for channel in range(stored.shape[1]):
            push = weight * error[:, channel, None]
            moved = np.bincount(nodes.ravel(), weights=push.ravel(), minlength=len(stored))
            stored[usable, channel] += RELAXATION * moved[usable] / spread[usable]
        stored = np.clip(stored, np.maximum(before - room, LOW), np.minimum(before + room, HIGH))
        stored = kept_to_limit(stored, inverter.ink_limit)
    return stored
