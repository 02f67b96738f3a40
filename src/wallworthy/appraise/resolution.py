"""The true resolution of a picture, from its own edges: how much of its pixel count carries detail, and where.

A picture is read by its sharpest part, so that one that is soft on purpose is not called a bad file. Where
there are too few edges, or they contradict each other, the answer is that nothing can be told.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.appraise.edges import REACH_PX, Edges, crossing, find_edges, joined, pooled_transfer
from wallworthy.appraise.eye import Transfer
from wallworthy.base.records import Box
from wallworthy.raster.stream import ordered_map

Floats = NDArray[np.float32]
Array = NDArray[np.float64]

LAST_SEEN: Final = 0.15
"""Modulation at which detail is counted as gone; the frequency it falls to measures the resolution."""

SHARPEST_SHARE: Final = 0.12
FEWEST: Final = 6
"""The sharpest part is at least so many edges."""

FEWEST_FOUND: Final = 16
"""A picture with fewer edges than these tells nothing."""

LARGEST_DOUBT: Final = 0.4

SHARP_HERE: Final = 0.7
"""A place counts as sharp when its frequency is at least this share of the sharpest part's."""


@dataclass(frozen=True, slots=True, eq=False)
class Tile:
    """A piece of the picture's tone (rows, columns), 0-1, and where its upper left corner lies."""

    row: int
    column: int
    tone: Floats


@dataclass(frozen=True, slots=True)
class Focus:
    """How sharp a part of the picture is: frequency at LAST_SEEN in cycles per pixel, and from how many edges."""

    box_px: Box
    cycles_per_px: float
    edges: int


@dataclass(frozen=True, slots=True)
class Motion:
    """A blur that runs one way: its direction in degrees from the horizontal (0-180), length in pixels."""

    direction_deg: float
    length_px: float


@dataclass(frozen=True, slots=True)
class Resolution:
    """What the edges tell. fraction None: can't be told; the transfer is then the pixels' own."""

    fraction: float | None
    """Share of the pixel count that carries detail, (f / 0.5)^2."""
    transfer: Transfer | None
    doubt: float
    """Relative uncertainty of the frequency."""
    edges: int
    halo_pct: float
    """How far edges run past their ends on both sides, per cent of their step; 0 when not known."""
    sharpest: Box | None
    focus: tuple[Focus, ...]
    motion: Motion | None

    @property
    def confidence(self) -> float:
        """From 0 (can't tell) to 1."""
        return 0.0 if self.fraction is None else max(0.1, 1 - 2 * self.doubt) * min(1.0, self.edges / 20)


def measure_resolution(tiles: list[Tile], sigma: float = 0.0, per_tile: int | None = None) -> Resolution:
    """The resolution of a picture from tiles of it. sigma: its noise, on the scale of the tone.

    per_tile: most edges of a tile; unless said 24, more when there are few tiles.

    Source: ISO12233, edge method; pooling and thresholds are this project's (docs/why/appraise.md).
    """
    most = per_tile or max(24, min(80, 600 // max(1, len(tiles))))
    found = list(ordered_map(lambda tile: _placed(find_edges(tile.tone, sigma, most), tile), tiles))
    focus = tuple(_focus(edges, tile) for edges, tile in zip(found, tiles, strict=True) if len(edges) >= 3)
    with_edges = [edges for edges in found if len(edges)]
    if not with_edges:
        return _unknown(0, focus)
    edges = joined(with_edges)
    sharp = edges.taken(sharpest_of(edges))
    if len(edges) < FEWEST_FOUND:
        return _unknown(len(edges), focus)
    transfer = pooled_transfer(sharp)
    frequency, doubt = last_seen(transfer), _doubt(sharp)
    if doubt > LARGEST_DOUBT:
        return _unknown(len(edges), focus)
    best = max(focus, key=lambda one: one.cycles_per_px, default=None)
    return Resolution(
        fraction=(frequency / 0.5) ** 2,
        transfer=Transfer(tuple(float(v) for v in np.maximum(transfer, 0))),
        doubt=doubt,
        edges=len(edges),
        halo_pct=_halo(edges),
        sharpest=None if best is None else best.box_px,
        focus=focus,
        motion=find_motion(edges),
    )


def _unknown(count: int, focus: tuple[Focus, ...]) -> Resolution:
    return Resolution(None, None, 1.0, count, 0.0, None, focus, None)


def _placed(edges: Edges, tile: Tile) -> Edges:
    place = edges.place + np.array([tile.row, tile.column])
    return replace(edges, place=place)


def halves_of(edges: Edges) -> Array:
    """The frequency at which each edge keeps half, cycles per pixel."""
    return np.array([crossing(one.real, 0.5) for one in edges.spectrum])


def sharpest_of(edges: Edges) -> NDArray[np.intp]:
    """The sharpest eighth of the edges, without the first fiftieth, which are the likeliest mistakes."""
    order = np.argsort(-halves_of(edges), kind="stable")
    skip = len(order) // 50
    return order[skip : skip + max(FEWEST, round(SHARPEST_SHARE * len(order)))]


def last_seen(transfer: Array) -> float:
    """The frequency, cycles per pixel, at which detail is gone: LAST_SEEN of the transfer's highest value.

    Of its highest value, so that sharpening an enlargement does not pass its tail for detail.
    """
    return crossing(transfer, LAST_SEEN * max(1.0, float(transfer.max())))


def _doubt(edges: Edges) -> float:
    """Relative spread of the frequency when the edges are drawn anew, and never less than what a kernel leaves."""
    draw = np.random.default_rng(len(edges))
    again = (edges.taken(draw.integers(0, len(edges), len(edges))) for _ in range(24))
    found = [last_seen(pooled_transfer(drawn)) for drawn in again]
    return max(0.06, float(np.std(found)) / max(float(np.mean(found)), 1e-6))


def _focus(edges: Edges, tile: Tile) -> Focus:
    order = np.argsort(-halves_of(edges), kind="stable")
    half = edges.taken(order[: max(3, len(order) // 2)])
    box = (tile.row, tile.column, tile.tone.shape[0], tile.tone.shape[1])
    return Focus(box, last_seen(pooled_transfer(half)), len(edges))


def _halo(edges: Edges) -> float:
    """How far edges run past both their ends, per cent of the step, the lesser side.

    By the median profile of the sharper half, so that what happens to lie beside single edges does not count.
    """
    half = edges.taken(np.argsort(-halves_of(edges), kind="stable")[: max(FEWEST, len(edges) // 2)])
    t = np.linspace(-REACH_PX, REACH_PX, half.profile.shape[1])
    middle = len(t) // 2
    rise = half.profile[:, middle + 4] - half.profile[:, middle - 4]
    level = (half.profile - half.profile[:, middle : middle + 1]) * (np.sign(rise) / half.step)[:, None]
    curve = np.median(level, axis=0)
    far_low, far_high = np.median(curve[t < -7]), np.median(curve[t > 7])
    over_high = float(curve[(t > 0.5) & (t < 5)].max() - far_high)
    over_low = float(far_low - curve[(t < -0.5) & (t > -5)].min())
    return 100 * max(0.0, min(over_high, over_low))


def find_motion(edges: Edges) -> Motion | None:
    """Whether edges across one direction are soft while those along it are sharp; None when nothing says so.

    Needs edges in at least four of eight directions; the softest lies across from the sharpest.
    """
    widths = 1 / np.maximum(halves_of(edges), 0.02)
    bins = np.floor(edges.angle / np.pi * 8).astype(int) % 8
    counts = np.bincount(bins, minlength=8)
    if len(edges) < 40 or (counts >= 5).sum() < 5:
        return None
    best = np.array([np.quantile(widths[bins == i], 0.1) if counts[i] >= 5 else np.nan for i in range(8)])
    angles = (np.arange(8) + 0.5) * np.pi / 8
    known = np.isfinite(best)
    design = np.stack([np.ones(8), np.cos(2 * angles), np.sin(2 * angles)], axis=1)[known]
    square = best[known] ** 2
    fit = np.linalg.lstsq(design, square, rcond=None)[0]
    swing = math.hypot(fit[1], fit[2])
    residual = square - design @ fit
    explained = 1 - float(residual @ residual) / max(float(((square - square.mean()) ** 2).sum()), 1e-12)
    if swing < 0.55 * fit[0] or explained < 0.7 or np.nanmax(best) < 2.2 * np.nanmin(best):
        return None
    direction = math.degrees(0.5 * math.atan2(fit[2], fit[1])) % 180
    # a box of length a has its half at 0.603 / a cycles per pixel
    length = 0.603 * math.sqrt(max(float(np.nanmax(best)) ** 2 - float(np.nanmin(best)) ** 2, 0.0))
    return Motion(direction, length)


def last_seen_in(focus: tuple[Focus, ...], box: Box | None) -> float | None:
    """The sharpest frequency among the measured places that touch a box; None when none does."""
    if box is None:
        return None
    row, column, height, width = box
    inside = [
        one.cycles_per_px
        for one in focus
        if one.box_px[0] < row + height
        and row < one.box_px[0] + one.box_px[2]
        and one.box_px[1] < column + width
        and column < one.box_px[1] + one.box_px[3]
    ]
    return max(inside, default=None)


def ink_spread(tone: Floats, px_per_mm: float) -> float | None:
    """Cycles per mm at which ink and paper keep half the contrast, from a scan of printed edges; None without any.

    tone: (rows, columns) 0-1, a scan at several times the paper's fineness; its own softness is counted as the
    paper's, so that a figure from a coarse scan is too low. Source: ISO12233, edge method.
    """
    edges = find_edges(tone)
    if len(edges) < FEWEST:
        return None
    return crossing(pooled_transfer(edges.taken(sharpest_of(edges))), 0.5) * px_per_mm
