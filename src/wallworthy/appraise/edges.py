"""Straight isolated edges of a picture and the transfer of detail across them.

As ISO 12233 measures a slanted edge, but on the edges a picture happens to have: each is found by
the coherence of its slopes, straightened, sampled across, differentiated and transformed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.raster.filters import blurred, highest_around, sampled, slopes

Floats = NDArray[np.float32]
Array = NDArray[np.float64]

COHERENCE: Final = 0.92
REACH_PX: Final = 12.0
"""How far across an edge it is sampled to either side."""
FINE: Final = 0.25
LINES: Final = np.arange(-4.0, 4.1, 1.0)
"""Where along the edge it is sampled, in pixels."""
MARGIN_PX: Final = 20
SPACING_PX: Final = 5
SOONEST_STEP: Final = 0.04
"""Least contrast of an edge, as a share of the scale."""
MOST_BEND_PX: Final = 0.35
"""How far the points of an edge may stray from a straight line (root mean square)."""

STEEPEST_RISE: Final = 2.2
"""A transfer that rises higher than this above its start is that of the flank of a line or a ripple, not of a step:
its start, what the step amounts to, is then small by chance, and where it ends tells little."""

FAIRLY_STRAIGHT_PX: Final = 0.6
WIDE: Final = round(2 * REACH_PX / FINE) + 1
"""Samples of a profile."""

GRID: Final = np.linspace(0, 0.5, 51)
"""Cycles per pixel at which transfers are stated."""


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Edges of one or more tiles: n rows each.

    place: (n, 2) row, column in pixels; step: contrast; spectrum: (n, 51) complex transfer about its own centre.
    """

    place: Array
    step: Array
    spectrum: NDArray[np.complex128]

    def __len__(self) -> int:
        return len(self.step)

    def taken(self, which: NDArray[np.bool_] | NDArray[np.intp]) -> Edges:
        return Edges(*(getattr(self, name)[which] for name in FIELDS))


FIELDS: Final = ("place", "step", "spectrum")


def joined(parts: list[Edges]) -> Edges:
    """All edges of several tiles."""
    return Edges(*(np.concatenate([getattr(part, name) for part in parts]) for name in FIELDS))


def find_edges(tone: Floats, sigma: float = 0.0, most: int = 24) -> Edges:
    """The clearest straight, isolated edges of a tile (rows, columns), 0-1, and what crosses them.

    sigma: standard deviation of the tile's noise. Source: ISO12233, the edge method, on found edges.
    """
    return find_crossings(tone, sigma, most)[0]


def find_crossings(tone: Floats, sigma: float = 0.0, most: int = 24) -> tuple[Edges, Array]:
    """As `find_edges`, and what crosses all fairly straight edges, isolated or not, (m, 97) in steps of FINE."""
    across, down = slopes(tone, 1.0)
    candidates = _candidates(across, down, max(SOONEST_STEP, 8 * sigma), 2 * most)
    if len(candidates) == 0:
        return no_edges(), np.zeros((0, WIDE))
    rows, columns, angles = candidates.T
    rows, columns, angles, bend = _straightened(tone, rows, columns, angles)
    profiles = _lines(tone, rows, columns, angles, FINE, LINES).mean(axis=1)
    edges, fit = _transfers(profiles, np.stack([rows, columns], axis=1), angles, sigma)
    good = fit & (bend < MOST_BEND_PX)
    return edges.taken(np.flatnonzero(good)[:most]), profiles[bend < FAIRLY_STRAIGHT_PX]


def no_edges() -> Edges:
    """None found."""
    none = np.zeros(0)
    return Edges(np.zeros((0, 2)), none, np.zeros((0, len(GRID)), np.complex128))


def _candidates(across: Floats, down: Floats, least_step: float, most: int) -> Array:
    """(n, 3) row, column, angle of the normal: crests of the slope where neighbours run the same way."""
    xx, yy, xy = (blurred(plane, 2.0) for plane in (across * across, down * down, across * down))
    total = xx + yy
    one_way = np.hypot(xx - yy, 2 * xy)
    steep = np.hypot(across, down)
    crest = (steep >= highest_around(steep, SPACING_PX)) & (one_way > COHERENCE * total)
    # a step blurred by 3.5 px still has a slope of a ninth of its height at its middle
    crest &= steep > least_step / 9
    crest[:MARGIN_PX], crest[-MARGIN_PX:] = False, False
    crest[:, :MARGIN_PX], crest[:, -MARGIN_PX:] = False, False
    rows, columns = np.nonzero(crest)
    order = np.argsort(-steep[rows, columns], kind="stable")[: 8 * most]
    rows, columns = rows[order], columns[order]
    angle = 0.5 * np.arctan2(2 * xy[rows, columns], (xx - yy)[rows, columns])
    chosen = _in_turn(np.floor(np.mod(angle, np.pi) / np.pi * 8).astype(np.intp))[:most]
    rows, columns, angle = rows[chosen], columns[chosen], angle[chosen]
    return np.stack([rows, columns, angle], axis=1).astype(np.float64)


def _in_turn(kinds: NDArray[np.intp]) -> NDArray[np.intp]:
    """An order that takes one of each kind in turn, so that no direction is left out for being softer."""
    turn = np.zeros(len(kinds), np.intp)
    for kind in np.unique(kinds):
        mine = np.flatnonzero(kinds == kind)
        turn[mine] = np.arange(len(mine))
    return np.argsort(turn, kind="stable")


def _lines(tone: Floats, rows: Array, columns: Array, angles: Array, step: float, along: Array) -> Array:
    """Samples across each edge, (edges, lines, samples), at +-REACH_PX in steps, `along` the edge."""
    t = np.arange(-REACH_PX, REACH_PX + step / 2, step)
    normal = np.stack([np.cos(angles), np.sin(angles)])
    x = columns[:, None, None] + normal[0][:, None, None] * t - normal[1][:, None, None] * along[:, None]
    y = rows[:, None, None] + normal[1][:, None, None] * t + normal[0][:, None, None] * along[:, None]
    flat = sampled(tone, x.reshape(-1, t.size).astype(np.float32), y.reshape(-1, t.size).astype(np.float32))
    return flat.reshape(x.shape).astype(np.float64)


def _straightened(tone: Floats, rows: Array, columns: Array, angles: Array) -> tuple[Array, Array, Array, Array]:
    """Places and angles improved to a fraction of a pixel, and how far each edge strays from a straight line."""
    bend = np.zeros(len(rows))
    for _ in range(2):
        lines = _lines(tone, rows, columns, angles, 0.5, LINES)
        slope = np.diff(lines, axis=-1)
        t = np.arange(-REACH_PX + 0.25, REACH_PX, 0.5)
        whole = slope.sum(axis=1)
        sign = np.sign((whole * np.exp(-0.5 * (t / 3) ** 2)).sum(axis=1))[:, None, None]
        weight = np.maximum(slope * sign, 0) * np.exp(-0.5 * (t / 4) ** 2)
        centre = (weight * t).sum(axis=-1) / np.maximum(weight.sum(axis=-1), 1e-12)
        turn = (centre * LINES).sum(axis=1) / (LINES**2).sum()
        shift = centre.mean(axis=1)
        bend = (centre - shift[:, None] - turn[:, None] * LINES).std(axis=1)
        rows = rows + np.sin(angles) * shift
        columns = columns + np.cos(angles) * shift
        angles = angles - np.arctan(turn)
    return rows, columns, angles, bend


def _transfers(profiles: Array, places: Array, angles: Array, sigma: float) -> tuple[Edges, NDArray[np.bool_]]:
    """The transfer across each profile, and which are those of one isolated step."""
    t = np.arange(-REACH_PX, REACH_PX + FINE / 2, FINE)
    middle = (t[1:] + t[:-1]) / 2
    slope = np.diff(profiles, axis=1)
    slope *= np.sign((slope * np.exp(-0.5 * (middle / 3) ** 2)).sum(axis=1))[:, None]
    centre, width = _centre_and_width(slope, middle)
    away = np.abs(middle - centre[:, None])
    half = np.clip(1.5 * width + 2.5, 4.0, REACH_PX - 1)[:, None]
    window = np.where(away < half, np.cos(np.pi / 2 * np.clip(2 * away / half - 1, 0, 1)) ** 2, 0.0)
    shaped = slope * window
    spectrum = _transformed(shaped) * np.exp(2j * np.pi * GRID * centre[:, None])
    step = np.maximum(spectrum[:, 0].real, 1e-6)
    spectrum /= step[:, None] * _sampling_loss(angles)
    # what lies beside the step within the window belongs to something else
    beside = np.maximum(slope, 0) * window * (away > 1.2 * width[:, None] + 1.0)
    back = np.maximum(-slope, 0) * window
    left, right = ((back * (side * (middle - centre[:, None]) > 0)).sum(axis=1) / step for side in (-1, 1))
    noise = 4 * sigma / step
    fit = (step >= SOONEST_STEP) & (beside.sum(axis=1) / step < 0.25 + noise) & (np.abs(centre) < 1.5)
    fit &= spectrum.real.max(axis=1) < STEEPEST_RISE
    fit &= (left < 0.7 + noise) & (right < 0.7 + noise) & (np.abs(left - right) < 0.25 + noise)
    return Edges(places, step, spectrum), fit


def _transformed(spreads: Array) -> NDArray[np.complex128]:
    """Fourier transform of line spreads (n, 96) at GRID, about the middle of their lines.

    In pieces so small that the library under numpy keeps to the calling thread.
    """
    waves = _waves(spreads.shape[1])
    rows = 20
    parts = [spreads[i : i + rows] @ waves for i in range(0, len(spreads), rows)]
    both = np.concatenate(parts)
    return both[:, : len(GRID)] - 1j * both[:, len(GRID) :]


@cache
def _waves(count: int) -> Array:
    """Cosines and sines of every frequency over the samples of a line spread, (count, 102)."""
    middle = (np.arange(count) + 0.5) * FINE - REACH_PX
    turns = 2 * np.pi * middle[:, None] * GRID
    return np.concatenate([np.cos(turns), np.sin(turns)], axis=1)


def _centre_and_width(lsf: Array, t: Array) -> tuple[Array, Array]:
    """Centre of each line spread within 4 px, and its full width at half height, in pixels."""
    weight = np.maximum(lsf, 0) * np.exp(-0.5 * (t / 3) ** 2)
    centre = (weight * t).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-12)
    wide = np.pad(lsf, ((0, 0), (2, 2)), mode="edge")
    smooth = sum(wide[:, i : i + lsf.shape[1]] for i in range(5)) / 5
    near = np.abs(t - centre[:, None]) < 5
    top = np.max(smooth * near, axis=1)
    width = ((smooth > top[:, None] / 2) & near).sum(axis=1) * FINE
    return centre, width


def _sampling_loss(angles: Array) -> Array:
    """What sampling between pixels and differencing take of each frequency, by the edge's angle, (n, 51)."""
    known, loss = _kernel_table()
    across = np.interp(np.abs(np.cos(angles))[:, None] * GRID, known, loss)
    down = np.interp(np.abs(np.sin(angles))[:, None] * GRID, known, loss)
    return across * down * np.sinc(GRID * FINE)


@cache
def _kernel_table() -> tuple[Array, Array]:
    frequency: Array = np.linspace(0, 0.5, 101)
    x: Array = np.linspace(0, 4, 4001)
    kernel = np.sinc(x) * np.sinc(x / 4)
    values = np.asarray(2 * np.trapezoid(kernel * np.cos(2 * np.pi * frequency[:, None] * x), x, axis=1))
    return frequency, values / values[0]


def pooled_transfer(edges: Edges) -> Array:
    """The mean transfer of edges about their own centres, (51,); noise averages out, being of no fixed phase."""
    weights = np.minimum(edges.step, 0.3)
    mean = (edges.spectrum.real * weights[:, None]).sum(axis=0) / weights.sum()
    return mean / mean[0]


def crossing(transfer: Array, level: float) -> float:
    """The first frequency, cycles per pixel, at which a transfer (51,) falls to `level`; 0.5 when it never does.

    >>> import math, numpy as np
    >>> round(crossing(np.exp(-2 * (np.pi * 1.5 * GRID) ** 2), 0.5) * 1.5, 3)
    0.187
    """
    below = np.flatnonzero(transfer < level)
    if below.size == 0:
        return 0.5
    i = int(below[0])
    if i == 0:
        return 0.0
    share = (transfer[i - 1] - level) / (transfer[i - 1] - transfer[i])
    return float(GRID[i - 1] + share * (GRID[i] - GRID[i - 1]))
