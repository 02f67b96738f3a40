"""A device grid of colours with multilinear interpolation, its slopes, and a straight continuation outside 0-1."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from functools import reduce

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class DeviceGrid:
    """nodes: (n, ..., n, 3) media-relative Lab at equal steps of each device channel; channel 0 first."""

    nodes: Array = field(repr=False)

    @property
    def channels(self) -> int:
        return self.nodes.ndim - 1

    def lab(self, device: Array) -> Array:
        """Colours (N, 3) at device values (N, K); beyond 0-1 the outermost cells are continued."""
        corners, fraction = self._corners(device)
        for axis in range(self.channels):
            f = fraction[:, axis].reshape(-1, *([1] * (corners.ndim - 2)))
            corners = corners[:, 0] * (1 - f) + corners[:, 1] * f
        return corners

    def lab_and_slopes(self, device: Array) -> tuple[Array, Array]:
        """Colours (N, 3) and their derivatives (N, 3, K) by device value."""
        corners, fraction = self._corners(device)
        count, channels = device.shape
        flat = corners.reshape(count, 2**channels, 3)
        ends = [(1 - fraction[:, k : k + 1], fraction[:, k : k + 1]) for k in range(channels)]
        sides = list(itertools.product((0, 1), repeat=channels))

        def weights_of(skip: int) -> Array:
            rows: list[Array] = []
            for side in sides:
                factors = [ends[k][s] for k, s in enumerate(side) if k != skip]
                sign = 1.0 if skip < 0 or side[skip] else -1.0
                rows.append(sign * reduce(np.multiply, factors))
            return np.concatenate(rows, axis=1)

        steps = self.nodes.shape[0] - 1
        lab = np.matmul(weights_of(-1)[:, None, :], flat)[:, 0, :]
        slopes = np.stack([np.matmul(weights_of(k)[:, None, :], flat)[:, 0, :] for k in range(channels)], axis=2)
        return lab, slopes * steps

    def _corners(self, device: Array) -> tuple[Array, Array]:
        n, channels = self.nodes.shape[0], self.channels
        position = device * (n - 1)
        cell = np.clip(np.floor(position), 0, n - 2).astype(np.intp)
        strides = n ** np.arange(channels - 1, -1, -1)
        sides = np.array(list(itertools.product((0, 1), repeat=channels)))
        index = (cell @ strides)[:, None] + (sides @ strides)[None, :]
        corners = self.nodes.reshape(-1, 3)[index].reshape(len(device), *([2] * channels), 3)
        return corners, position - cell


def grid_points(n: int, channels: int) -> Array:
    """All device values of a grid, (n ** channels, channels), channel 0 slowest."""
    steps = np.linspace(0.0, 1.0, n)
    return np.stack(np.meshgrid(*([steps] * channels), indexing="ij"), axis=-1).reshape(-1, channels)


def refined(grid: DeviceGrid) -> DeviceGrid:
    """The grid with twice as many steps, new nodes by natural cubic interpolation along each channel."""
    from scipy.interpolate import CubicSpline

    nodes = grid.nodes
    n = nodes.shape[0]
    for axis in range(grid.channels):
        curve = CubicSpline(np.linspace(0, 1, n), nodes, axis=axis, bc_type="not-a-knot")
        nodes = curve(np.linspace(0, 1, 2 * n - 1))
    return DeviceGrid(np.ascontiguousarray(nodes))
