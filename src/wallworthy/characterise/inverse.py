"""From colours to device values: bounded Levenberg-Marquardt on a device grid, for all targets at once.

Inside the gamut the colour is met. Outside, the nearest printable colour is sought in a CIEDE2000-like
measure whose hue term counts more, so that hue is kept first (the idea of minimum difference at constant hue).
With four inks the freedom left goes to black: it follows a stated rule as closely as the colour allows.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

from wallworthy.characterise.grid import DeviceGrid, grid_points

Array = NDArray[np.float64]

BLACK_PULL: Final = 1.0
"""How many units of colour difference a black ink off its rule by 1 (100 %) weighs."""
FIRM_PULLS: Final = (40.0, 8.0)
CONVERGED: Final = 1e-5
ROUNDING: Final = 2e-4
"""Kept free below the ink limit for 16-bit rounding on the way."""


@dataclass(frozen=True, slots=True, eq=False)
class Targets:
    """What is asked: media-relative Lab (N, 3), the measure (N, 3, 3), and black ink wanted (N,) with its pull."""

    lab: Array = field(repr=False)
    measure: Array = field(repr=False)
    black: Array | None = field(default=None, repr=False)
    black_pull: float = BLACK_PULL

    def subset(self, chosen: NDArray[np.intp]) -> Targets:
        black = None if self.black is None else self.black[chosen]
        return Targets(self.lab[chosen], self.measure[chosen], black, self.black_pull)


def colour_measure(lab: Array, hue_weight: float = 3.0) -> Array:
    """Matrices T (N, 3, 3): |T d| approximates CIEDE2000 of a small difference d at each colour.

    The hue term is raised by up to `hue_weight` as chroma grows. Beyond chroma 50 the measure settles at what
    it is at 75, since the difference will be spanned from far outside the gamut.
    Source of the terms: Sharma2005.
    """
    lightness, a, b = lab[:, 0], lab[:, 1], lab[:, 2]
    chroma = np.hypot(a, b)
    held = np.where(chroma > 50, 50 + 25 * np.tanh((chroma - 50) / 25), chroma)
    c7 = held**7
    g = 0.5 * (1 - np.sqrt(c7 / (c7 + 25.0**7)))
    hue = np.arctan2(b, (1 + g) * a)
    t = (
        1
        - 0.17 * np.cos(hue - np.radians(30))
        + 0.24 * np.cos(2 * hue)
        + 0.32 * np.cos(3 * hue + np.radians(6))
        - 0.20 * np.cos(4 * hue - np.radians(63))
    )
    l50 = (np.clip(lightness, 0, 100) - 50) ** 2
    s_l = 1 + 0.015 * l50 / np.sqrt(20 + l50)
    s_c, s_h = 1 + 0.045 * held, 1 + 0.015 * held * t
    emphasis = 1 + (hue_weight - 1) * held / (held + 15)
    degrees = np.degrees(hue) % 360
    turn = -2 * np.sqrt(c7 / (c7 + 25.0**7)) * np.sin(np.radians(60 * np.exp(-(((degrees - 275) / 25) ** 2))))

    cos, sin = np.cos(hue), np.sin(hue)
    zero = np.zeros_like(hue)
    along = np.stack([zero, cos * (1 + g), sin], axis=1) / s_c[:, None]
    across = np.stack([zero, -sin * (1 + g), cos], axis=1) / s_h[:, None]
    # c^2 + turn c h + (e h)^2 as the sum of two squares
    rest = np.sqrt(np.maximum(emphasis**2 - turn**2 / 4, 0.1))
    rows = np.zeros((len(lab), 3, 3))
    rows[:, 0, 0] = 1 / s_l
    rows[:, 1] = along + 0.5 * turn[:, None] * across
    rows[:, 2] = rest[:, None] * across
    return rows


@dataclass(frozen=True, slots=True, eq=False)
class Inverter:
    """A device grid and the limits its values must keep."""

    grid: DeviceGrid
    ink_limit: float | None = None
    """Largest sum of inks (3.0 is 300 %)."""

    def nearest_start(self, targets: Targets, steps: int) -> Array:
        """The best of a coarse grid of device values for each target: near in Lab, near its black rule."""
        points = grid_points(steps, self.grid.channels)
        if self.ink_limit is not None:
            points = points[points.sum(axis=1) <= self.ink_limit + 1e-9]
        lab = self.grid.lab(points)
        wanted = targets.lab
        if targets.black is not None:
            lab = np.concatenate([lab, 12 * points[:, -1:]], axis=1)
            wanted = np.concatenate([wanted, 12 * targets.black[:, None]], axis=1)
        _, index = KDTree(lab).query(wanted)
        return points[index]

    def solve(
        self, targets: Targets, start: Array, *, low: float = 0.0, high: float = 1.0, iterations: int = 30
    ) -> tuple[Array, Array]:
        """Device values (N, K) within low-high and the cost left (N,), in squared colour differences.

        Where black follows a rule it is first held to it firmly, then ever more loosely: along the narrow
        valley of equal colour small steps alone would never get there.
        """
        device = start
        if targets.black is not None:
            for pull in FIRM_PULLS:
                if pull > targets.black_pull:
                    firm = Targets(targets.lab, targets.measure, targets.black, pull)
                    device, _ = self._descend(firm, device, low, high, 8)
        return self._descend(targets, device, low, high, iterations)

    def _descend(self, targets: Targets, start: Array, low: float, high: float, iterations: int) -> tuple[Array, Array]:
        device = kept_to_limit(np.clip(start, low, high), self.ink_limit)
        cost = self.cost(targets, device)
        damping = np.full(len(device), 1e-3)
        alive = np.arange(len(device))
        for _ in range(iterations):
            if len(alive) == 0:
                break
            now, part = device[alive], targets.subset(alive)
            trial = now + self._step(part, now, damping[alive], low, high)
            trial = kept_to_limit(np.clip(trial, low, high), self.ink_limit)
            settled = _taken(trial, self.cost(part, trial), alive, device, cost, damping)
            alive = alive[~settled]
        return device, cost

    def cost(self, targets: Targets, device: Array) -> Array:
        """Squared difference from the targets, black pull included (N,)."""
        difference = np.matmul(targets.measure, (self.grid.lab(device) - targets.lab)[:, :, None])[:, :, 0]
        cost = np.sum(difference**2, axis=1)
        if targets.black is not None:
            cost = cost + (targets.black_pull * (device[:, -1] - targets.black)) ** 2
        return cost

    def _step(self, targets: Targets, device: Array, damping: Array, low: float, high: float) -> Array:
        lab, slopes = self.grid.lab_and_slopes(device)
        slopes = np.matmul(targets.measure, slopes)
        difference = np.matmul(targets.measure, (lab - targets.lab)[:, :, None])
        across = slopes.transpose(0, 2, 1)
        normal = np.matmul(across, slopes)
        gradient = np.matmul(across, difference)[:, :, 0]
        if targets.black is not None:
            normal[:, -1, -1] += targets.black_pull**2
            gradient[:, -1] += targets.black_pull**2 * (device[:, -1] - targets.black)
        held = ((device <= low) & (gradient > 0)) | ((device >= high) & (gradient < 0))
        free = ~held
        normal = normal * (free[:, :, None] & free[:, None, :])
        diagonal = np.arange(device.shape[1])
        scale = np.where(free, normal[:, diagonal, diagonal] + 1.0, 1.0)
        normal[:, diagonal, diagonal] += np.where(free, damping[:, None] * scale + 1e-6, 1.0)
        if self.ink_limit is None:
            return -np.linalg.solve(normal, (gradient * free)[:, :, None])[:, :, 0]
        laid = (free & (device >= 0)).astype(np.float64)
        both = np.linalg.solve(normal, np.stack([gradient * free, laid], axis=2))
        step, along = -both[:, :, 0], both[:, :, 1]
        excess = np.maximum(device, 0).sum(axis=1) + np.sum(laid * step, axis=1) - self.ink_limit
        back = np.maximum(excess, 0) / np.maximum(np.sum(laid * along, axis=1), 1e-9)
        return step - back[:, None] * along


def kept_to_limit(device: Array, limit: float | None) -> Array:
    """Scale the coloured inks (not black) down where the positive parts add up to more than the limit."""
    if limit is None:
        return device
    limit -= ROUNDING
    laid = np.maximum(device, 0)
    black = laid[:, -1]
    excess = laid.sum(axis=1) > limit
    room = np.maximum(limit - black, 0) / np.maximum(laid[:, :-1].sum(axis=1), 1e-9)
    out = device.copy()
    out[excess, :-1] = np.where(device[excess, :-1] > 0, device[excess, :-1] * room[excess, None], device[excess, :-1])
    return out


def _taken(
    trial: Array, trial_cost: Array, alive: NDArray[np.intp], device: Array, cost: Array, damping: Array
) -> NDArray[np.bool_]:
    """Take the trials that cost less into `device` and `cost`, in place; damp the others more. Which are settled."""
    better = trial_cost < cost[alive]
    gain = cost[alive] - trial_cost
    moved = np.abs(trial - device[alive]).max(axis=1)
    device[alive[better]] = trial[better]
    cost[alive[better]] = trial_cost[better]
    damping[alive] = np.clip(np.where(better, damping[alive] * 0.2, damping[alive] * 6), 1e-7, 1e4)
    return (better & (gain < CONVERGED * (1e-2 + trial_cost))) | (moved < CONVERGED) | (damping[alive] >= 1e4)
