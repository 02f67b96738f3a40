"""Blemishes: dust in smooth places, pixels that stand out, lines right across. Each with its box and contrast."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from wallworthy.base.records import Box
from wallworthy.raster.filters import Flags, Floats, blurred, highest_around, lowest_around, reduced, standing_out

Array = NDArray[np.float64]
Places = NDArray[np.intp]

DUST_SIGMAS: Final = (1.3, 1.8, 2.5)
"""Sizes of dust looked for, as standard deviations in pixels, on the reduced picture and on smaller ones of it."""

DUST_LEVELS: Final = 3

LEAST_DUST: Final = 0.0055
"""Depth of the faintest dust told, on the tone's scale (0.55 L*)."""

DEEPEST_DUST: Final = 0.12
"""Deeper spots are things in the picture."""

LIGHT_SURER: Final = 1.5
LIGHT_SHARE: Final = 0.1
"""Dark spots are dust when light spots, counted as if they were so many times as sure, are fewer than this share."""

LARGEST_DUST_PX: Final = 200.0
"""Dust casts no larger shadow, whatever the camera."""

DARKEST: Final = 0.05
"""Tone below which no dust is looked for."""

MOST_LOOKED_AT: Final = 150
"""Places looked at closely for each size of dust, the darkest."""

ROUGHEST: Final = 0.02
"""Standard deviation of the tone around a spot beyond which the place is not smooth."""

HOT_STEP: Final = 0.08
MOST_HOT_SHARE: Final = 2e-4
"""More single pixels than this share of the picture are its texture."""

CHUNKS: Final = 16
LEAST_LINE: Final = 0.0025
"""Depth of the faintest line told, on the tone's scale (0.25 L*)."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place that stands out: box in master pixels, depth on the tone's scale (positive: darker), its diameter."""

    box_px: Box
    depth: float
    diameter_px: float
    surety: float
    """How many times the noise of its surroundings it stands out by."""


def find_dust(tone: Floats, factor: int, sigma: float) -> tuple[Spot, ...]:
    """Dark round soft spots in smooth places of the reduced picture (rows, columns), 0-1; deepest first.

    factor: how many of the master's pixels one of the reduced picture's is wide. sigma: the master's noise; where a
    spot's surroundings are much rougher than noise, they are texture. Dust is only ever dark: where light spots of the
    same kind are about as clear as the dark ones, both are the picture's own, or what compression has left.
    """
    dark, light = _soft_spots(tone, factor, sigma)
    return tuple(sorted(_clearer(dark, light), key=lambda one: -one.depth))


def _clearer(dark: list[Spot], light: list[Spot]) -> list[Spot]:
    """The dark spots from a surety on at which, even were light ones so much surer, there would be few of these."""
    sure = np.sort([spot.surety for spot in dark])
    other = np.sort([LIGHT_SURER * spot.surety for spot in light])
    for number, least in enumerate(sure):
        beside = len(other) - int(np.searchsorted(other, least))
        if beside <= LIGHT_SHARE * (len(sure) - number):
            return [spot for spot in dark if spot.surety >= least]
    return []


def _soft_spots(tone: Floats, factor: int, sigma: float) -> tuple[list[Spot], list[Spot]]:
    """The dark round soft spots of all sizes, one for each place, and the light ones: the negative's dark ones."""
    dark: list[Spot] = []
    light: list[Spot] = []
    for _ in range(DUST_LEVELS):
        if min(tone.shape) < 32:
            break
        calm = min(ROUGHEST, 2.2 * sigma / factor + 0.001)
        fine: Floats = tone - blurred(tone, 2.0)
        smooth = blurred(np.square(fine), 5.0) < (2 * calm + 0.004) ** 2
        negative: Floats = np.float32(1) - tone
        for size in DUST_SIGMAS:
            below = blurred(tone, 2.0 * size) - blurred(tone, 0.7 * size)
            highest, lowest = highest_around(below, round(3 * size)), lowest_around(below, round(3 * size))
            dark += _dust_at(tone, _crests(below, highest, lowest, smooth, size), size, factor, calm)
            light += _dust_at(negative, _crests(-below, -lowest, -highest, smooth, size), size, factor, calm)
        tone, factor = reduced(tone, 2), factor * 2
    return _apart(dark), _apart(light)


def _crests(below: Floats, highest: Floats, lowest: Floats, smooth: Flags, sigma: float) -> Places:
    """Rows and columns, (2, places), where a spot may lie, the darkest first.

    below: how far each pixel lies below what surrounds it; highest and lowest: the same within a spot's reach.
    """
    rows, columns = np.divmod(np.flatnonzero((below >= highest) & (below > 0.25 * LEAST_DUST)), below.shape[1])
    margin = math.ceil(5 * sigma) + 1
    inside = (np.minimum(rows, columns) >= margin) & (rows < below.shape[0] - margin)
    inside &= columns < below.shape[1] - margin
    crest, least = below[rows, columns], lowest[rows, columns]
    # what is lighter near by is so only as much as a spot's own border seems to be
    kept = inside & smooth[rows, columns] & (crest < DEEPEST_DUST) & (least > -1.1 * crest)
    darkest = np.argsort(-crest[kept], kind="stable")[:MOST_LOOKED_AT]
    return np.stack([rows[kept], columns[kept]])[:, darkest]


def _dust_at(tone: Floats, places: Places, sigma: float, factor: int, calm: float) -> list[Spot]:
    """The spots at places (2, n), where what surrounds one is smooth and it is dark from all sides."""
    around = _around(sigma)
    rest, lowest = _beside_bowls(tone, places, around)
    depth, noise = -(rest @ around.core), rest[:, around.ring].std(axis=1)
    deep = (depth >= np.maximum(LEAST_DUST, 2.0 * noise)) & (depth <= DEEPEST_DUST)
    kept = np.flatnonzero(deep & (lowest >= DARKEST) & (noise <= calm))
    # the mean of so many pixels strays by this much when only noise is there
    chance = np.maximum(noise / math.sqrt(np.count_nonzero(around.core)), 1e-5)
    kept = kept[depth[kept] >= 8 * chance[kept]]
    kept = kept[_dark_from_all_sides(rest[kept], depth[kept], around)]
    diameters = _diameters(rest[kept], depth[kept], around) * factor
    return [
        _spot_at((int(places[0, i]), int(places[1, i])), float(depth[i]), diameter, float(chance[i]), factor)
        for i, diameter in zip(kept, diameters.tolist(), strict=True)
        if diameter <= LARGEST_DUST_PX
    ]


def _spot_at(place: tuple[int, int], depth: float, diameter: float, chance: float, factor: int) -> Spot:
    side = max(factor, round(1.2 * diameter))
    top, left = (max(0, round((at + 0.5) * factor - side / 2)) for at in place)
    return Spot((top, left, side, side), depth, diameter, depth / chance)


@dataclass(frozen=True, slots=True, eq=False)
class Around:
    """The square about a place where a spot of some size may lie, its n pixels row by row, and how to see in it.

    Values (places, n) times weights (n, k) are k means of each place.
    """

    reach: int
    """Pixels from the place to the square's sides."""
    ring: Flags
    """What surrounds a spot, (n,)."""
    terms: Array
    """1, x, y, x², xy, y², (n, 6): a bowl is a sum of these."""
    fit: Array
    """Weights of the ring's pixels, (pixels, 6), that make the bowl nearest to them by least squares."""
    core: Array
    """Weights of the mean of a spot's middle, (n,)."""
    border: Array
    """Of eight directions about a spot's border, (n, 8)."""
    sides: Array
    """Of eight directions of the ring, (n, 8)."""
    near: Array
    """Of the ring's inner part, (n,)."""
    beyond: Array
    """Of the ring's outer part, (n,)."""
    radii: Array
    """Every half pixel up to the corners, (r,)."""
    circles: Array
    """Of the pixels within half a pixel of each radius, (n, r)."""


@cache
def _around(sigma: float) -> Around:
    """What belongs to spots of that standard deviation, in pixels."""
    reach = math.ceil(5 * sigma)
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1].reshape(2, -1).astype(np.float64)
    away = np.hypot(x, y)
    ring = (away > 2.6 * sigma) & (away <= 4.8 * sigma)
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)
    direction = np.floor((np.arctan2(y, x) / (2 * np.pi) + 1 / 16) * 8).astype(int) % 8
    eight = direction == np.arange(8)[:, None]
    radii = np.arange(0.5, away.max(), 0.5)
    return Around(
        reach=reach,
        ring=ring,
        terms=terms,
        fit=np.asarray(np.linalg.pinv(terms[ring]).T, dtype=np.float64),
        core=_means(away <= max(0.8 * sigma, 0.9)),
        border=_means(eight & (away > 0.5 * sigma) & (away <= 1.5 * sigma)),
        sides=_means(eight & ring),
        near=_means(ring & (away < 3.5 * sigma)),
        beyond=_means(ring & (away > 3.9 * sigma)),
        radii=radii,
        circles=_means(np.abs(away - radii[:, None]) <= 0.5),
    )


def _means(flags: Flags) -> Array:
    """Weights (n, k), or (n,), that make the mean of the true pixels of (k, n), or (n,), flags; 0 where none is."""
    return (flags / np.maximum(flags.sum(axis=-1, keepdims=True), 1)).T


def _beside_bowls(tone: Floats, places: Places, around: Around) -> tuple[Array, Array]:
    """The squares about places less the bowl through each one's ring, (places, n), and the lowest tone of the ring."""
    side = 2 * around.reach + 1
    squares = sliding_window_view(tone, (side, side))[*(places - around.reach)]
    tones = squares.reshape(len(squares), side * side).astype(np.float64)
    ring = tones[:, around.ring]
    return tones - (ring @ around.fit) @ around.terms.T, ring.min(axis=1)


def _dark_from_all_sides(rest: Array, depth: Array, around: Around) -> Flags:
    """Where the spot's border is dark in all directions, and what surrounds it alike in all and no rim of its own."""
    border = (rest @ around.border).max(axis=1)
    lumpy = np.abs(rest @ around.sides).max(axis=1)
    rim = rest @ around.beyond - rest @ around.near
    return (border <= -0.3 * depth) & (lumpy <= 0.2 * depth) & (rim <= 0.12 * depth)


def _diameters(rest: Array, depth: Array, around: Around) -> Array:
    """Twice the radius at which each spot has half its depth, in pixels of the reduced picture."""
    below = -(rest @ around.circles) < depth[:, None] / 2
    first = np.where(below.any(axis=1), below.argmax(axis=1), -1)
    return 2 * around.radii[first]


def _apart(spots: list[Spot]) -> list[Spot]:
    """One spot for each place, the surest of those that lie on each other."""
    kept: list[Spot] = []
    for spot in sorted(spots, key=lambda one: -one.surety):
        centre = spot.box_px[0] + spot.box_px[2] / 2, spot.box_px[1] + spot.box_px[3] / 2
        if all(
            math.hypot(centre[0] - (k.box_px[0] + k.box_px[2] / 2), centre[1] - (k.box_px[1] + k.box_px[3] / 2))
            > 0.7 * max(k.diameter_px, spot.diameter_px)
            for k in kept
        ):
            kept.append(spot)
    return kept


def find_hot(tone: Floats, sigma: float, top: int) -> list[Spot]:
    """Single pixels that stand out of a calm neighbourhood; `top`: the strip's first row in the picture."""
    rows, columns, jumps = standing_out(tone, max(HOT_STEP, 8 * sigma))
    if len(rows) > MOST_HOT_SHARE * tone.size * 20 + 20:
        return []
    inside = (rows >= 2) & (rows < tone.shape[0] - 2) & (columns >= 2) & (columns < tone.shape[1] - 2)
    if not inside.any():
        return []
    rows, columns, jumps = rows[inside], columns[inside], jumps[inside]
    patches = sliding_window_view(tone, (5, 5))[rows - 2, columns - 2].reshape(-1, 25)
    others = np.delete(patches, 12, axis=1)
    calm = np.ptp(others, axis=1) < 0.4 * np.abs(jumps)
    noise = np.maximum(others.std(axis=1), 1e-4)
    return [
        Spot((top + int(rows[i]), int(columns[i]), 1, 1), -float(jumps[i]), 1.0, float(abs(jumps[i]) / noise[i]))
        for i in np.flatnonzero(calm)
    ]


def line_rows(tone: Floats) -> Array:
    """How far each row lies from its neighbours two rows off, in each of CHUNKS parts, (rows, CHUNKS); 0 at the ends.

    Differences larger than noise are cut, so that edges of the picture count little.
    """
    out = np.zeros((tone.shape[0], CHUNKS))
    if tone.shape[0] < 8 or tone.shape[1] < CHUNKS:
        return out
    away = _aside(tone[2:-2], tone[:-4], tone[4:])
    edges = np.linspace(0, tone.shape[1], CHUNKS + 1).astype(int)
    out[2:-2] = np.add.reduceat(away, edges[:-1], axis=1) / np.diff(edges)
    return out


def line_columns(tone: Floats) -> Array:
    """The same for the columns of a strip, in four parts: (columns, 4)."""
    out = np.zeros((tone.shape[1], 4))
    if tone.shape[1] < 8 or tone.shape[0] < 4:
        return out
    away = _aside(tone[:, 2:-2], tone[:, :-4], tone[:, 4:])
    edges = np.linspace(0, tone.shape[0], 5).astype(int)
    out[2:-2] = (np.add.reduceat(away, edges[:-1], axis=0) / np.diff(edges)[:, None]).T
    return out


def _aside(tone: Floats, before: Floats, after: Floats) -> Floats:
    away = before + after
    away *= np.float32(-0.5)
    away += tone
    return np.clip(away, np.float32(-0.012), np.float32(0.012), out=away)


@dataclass(frozen=True, slots=True)
class Line:
    """A line right across: which row or column, and how much darker (positive) it is, on the tone's scale."""

    at_px: int
    down: bool
    """True for a column."""
    depth: float
    surety: float


def find_lines(parts: Array, *, down: bool) -> tuple[Line, ...]:
    """Lines that run right across: parts (lines, chunks) from `line_rows` or the strips' `line_columns`."""
    if parts.shape[0] < 16 or parts.shape[1] < 4:
        return ()
    middle = np.median(parts, axis=1)
    spread = 1.4826 * float(np.median(np.abs(middle - np.median(middle)))) + 1e-6
    found: list[Line] = []
    for at in np.flatnonzero(np.abs(middle) > max(LEAST_LINE, 8 * spread)).tolist():
        agree = float((np.sign(parts[at]) == np.sign(middle[at])).mean())
        near = np.abs(middle[max(0, at - 2) : at + 3])
        if agree >= 0.85 and abs(middle[at]) >= near.max():
            found.append(Line(at, down, -float(middle[at]), abs(float(middle[at])) / spread))
    return tuple(sorted(found, key=lambda line: -abs(line.depth)))
