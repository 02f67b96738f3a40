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

from wallworthy.appraise.edges import (
    FINE,
    GRID,
    Edges,
    crossing,
    find_crossings,
    find_edges,
    joined,
    no_edges,
    pooled_transfer,
)
from wallworthy.appraise.eye import SHARP, Transfer
from wallworthy.appraise.halos import halo_pct, overshoots
from wallworthy.appraise.motion import Directed, Motion, directed, find_motion
from wallworthy.appraise.spectrum import SIDE, Reach, by_ring, powers_of, reach_of, spectra_of, squares_of
from wallworthy.base.records import Box
from wallworthy.raster.filters import reduced
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
FEW_TILES: Final = 16
"""With more tiles than this, squares need not overlap."""

SHARP_HERE: Final = 0.7
"""A place counts as sharp when its frequency is at least this share of the sharpest part's."""


WIDEST_SPREAD: Final = 0.06
"""Half the contrast of a scanned edge must be lost from this many cycles per pixel on: an edge that is wider than three
pixels (standard deviation) reaches out of what is looked at of it."""

SMALLEST_SCAN: Final = 64


@dataclass(frozen=True, slots=True, eq=False)
class Tile:
    """A piece of the picture's tone (rows, columns), 0-1, and where its upper left corner lies."""

    row: int
    column: int
    tone: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Calm:
    """The picture's calmest squares (n, 32, 32), the least power its noise has at each L*, (101,), and whether it was
    compressed."""

    squares: Floats
    noise: Array
    lossy: bool


@dataclass(frozen=True, slots=True)
class Focus:
    """How sharp a part of the picture is: frequency at LAST_SEEN in cycles per pixel, and from how many edges."""

    box_px: Box
    cycles_per_px: float
    edges: int


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

    textured: bool = False
    """Whether fine detail besides edges told."""

    @property
    def confidence(self) -> float:
        """From 0 (can't tell) to 1."""
        enough = 1.0 if self.textured else min(1.0, self.edges / 20)
        return 0.0 if self.fraction is None else max(0.1, 1 - 2 * self.doubt) * enough


def measure_resolution(
    tiles: list[Tile], sigma: float = 0.0, per_tile: int | None = None, calm: Calm | None = None
) -> Resolution:
    """The resolution of a picture from tiles of it. sigma: its noise, on the scale of the tone.

    per_tile: most edges of a tile; unless said 24, more when there are few tiles. calm: its calmest squares; without
    them only edges are asked.

    Source: ISO12233, edge method; pooling and thresholds are this project's (docs/why/appraise.md).
    """
    most = per_tile or max(24, min(80, 600 // max(1, len(tiles))))
    crossed = list(ordered_map(lambda tile: find_crossings(tile.tone, sigma, most), tiles))
    found = [_placed(edges, tile) for (edges, _), tile in zip(crossed, tiles, strict=True)]
    focus = tuple(_focus(edges, tile) for edges, tile in zip(found, tiles, strict=True) if len(edges) >= 3)
    sides = [overshoots(profiles, FINE) for _, profiles in crossed]
    spectra, detail = _fine_detail(tiles)
    reach = None
    if calm is not None:
        reach = reach_of(spectra, spectra_of(calm.squares), calm.noise, LAST_SEEN, lossy=calm.lossy)
    edges = joined([edges for edges in found if len(edges)] or [no_edges()])
    told = _by_edges(edges)
    answer = _agreed(told, reach, lossy=calm is not None and calm.lossy)
    best = max(focus, key=lambda one: one.cycles_per_px, default=None)
    return Resolution(
        fraction=None if answer is None else (answer[0] / 0.5) ** 2,
        transfer=None if answer is None else _transfer(told, answer[0]),
        doubt=1.0 if answer is None else answer[1],
        edges=len(edges),
        halo_pct=halo_pct(np.concatenate(sides)) if sides else 0.0,
        sharpest=best.box_px if told is not None and best is not None else None,
        focus=focus,
        motion=find_motion(detail, [tile.tone for tile in tiles]),
        textured=answer is not None and reach is not None,
    )


def _fine_detail(tiles: list[Tile]) -> tuple[Array, list[Directed]]:
    """Spectra of squares all over the tiles, (n, 18), and of each tile's their detail by direction."""
    hop = SIDE // 2 if len(tiles) <= FEW_TILES else SIDE

    def of(tile: Tile) -> tuple[Array, Directed]:
        squares, place = squares_of(tile.tone, hop)
        power = powers_of(squares)
        return by_ring(power, squares), directed(power, place + np.array([tile.row, tile.column]))

    found = list(ordered_map(of, tiles))
    spectra = np.concatenate([one for one, _ in found]) if found else np.zeros((0, 0))
    return spectra, [one for _, one in found]


def _by_edges(edges: Edges) -> tuple[float, float, Array] | None:
    """Frequency, doubt and transfer by the sharpest edges; None when they are few or contradict each other."""
    if len(edges) < FEWEST_FOUND:
        return None
    sharp = edges.taken(sharpest_of(edges))
    doubt = _doubt(sharp)
    transfer = pooled_transfer(sharp)
    return None if doubt > LARGEST_DOUBT else (last_seen(transfer), doubt, transfer)


def _agreed(told: tuple[float, float, Array] | None, reach: Reach | None, *, lossy: bool) -> tuple[float, float] | None:
    """Frequency and doubt by edges and by fine detail; None when neither tells.

    Detail that reaches all the way up was never lost, though edges in the picture may be soft by themselves.
    Otherwise compression leaves fine detail of its own, and edges alone tell.
    """
    if reach is not None and reach.natural:
        return reach.cycles_per_px, reach.doubt
    if reach is None or lossy:
        return None if told is None else told[:2]
    if told is None:
        return (reach.cycles_per_px, reach.doubt) if reach.doubt <= LARGEST_DOUBT else None
    apart = abs(math.log(told[0] / reach.cycles_per_px))
    share = told[1] ** 2 / (told[1] ** 2 + reach.doubt**2)
    frequency = told[0] ** (1 - share) * reach.cycles_per_px**share
    return frequency, max(min(told[1], reach.doubt), apart / 4)


def _transfer(told: tuple[float, float, Array] | None, frequency: float) -> Transfer:
    """The transfer the edges have, brought to the frequency agreed upon; without edges that of a Gaussian, or of
    the pixels when nothing is lost."""
    if told is not None:
        own = Transfer(tuple(float(v) for v in np.maximum(told[2], 0)))
        return own if frequency == told[0] else own.stretched(frequency / told[0])
    if frequency >= 0.5:
        return SHARP
    spread = -math.log(LAST_SEEN) / frequency**2
    return Transfer(tuple(float(v) for v in np.exp(-spread * GRID**2)))


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
    paper's, so that a figure from a coarse scan is too low. A scan so fine that its edges are wider than what is
    looked at of them is halved until they are not. Source: ISO12233, edge method.
    """
    times = 1
    while min(tone.shape) >= SMALLEST_SCAN:
        edges = find_edges(tone)
        if len(edges) >= FEWEST:
            # what averaging so many pixels took is given back
            averaged = np.sinc(GRID) / np.sinc(GRID / times)
            per_px = crossing(pooled_transfer(edges.taken(sharpest_of(edges))) / averaged, 0.5)
            if per_px >= WIDEST_SPREAD:
                return per_px * px_per_mm / times
        tone, times = reduced(tone, 2), times * 2
    return None
