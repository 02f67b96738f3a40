"""What a condition can print: the surface of its colours in media-relative Lab, seen from a centre inside.

The device cube's boundary is sent through A2B1 and drawn, triangle by triangle, on the six
faces of a cube of directions around the centre; where several triangles lie in one direction
the outermost counts. In these central projections triangles stay triangles and the inverse of
the distance is linear in them, so the drawing is exact.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations, product
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.colour.float32 import ciede2000_32, planes_of
from wallworthy.icc.engine import in_slices, to_lab
from wallworthy.icc.nearby import Nearby
from wallworthy.icc.read import Profile, parse_profile

Array = NDArray[np.float64]

FACE_STEPS: Final = 32
"""Cells along a face of the device cube, up to four inks."""
FEWEST_STEPS: Final = 4
MOST_CELLS: Final = 150_000
"""With more inks there are many more faces (six inks 240), and each is cut less finely."""
DIRECTIONS: Final = 160
"""Directions along an edge of the cube of directions."""
LINE_STEPS: Final = 1024
"""Cells along the grey scale of a one-channel device."""
SEED_SPACING: Final = 8
SEEDS_TRIED: Final = 16
PATCH_SIDE: Final = 4
"""Starts along an edge of a patch, whose starts follow each other."""
PIECE: Final = 1024
"""Colours searched for at a time: their numbers stay in the processor's cache."""
SEARCH_STEPS: Final = (4, 3, 2, 1)
"""The nearest point by dE00 is sought from 16 sparse surface points, then by steps to the eight neighbours."""

NEIGHBOURS: Final = np.array([(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1) if i or j])


@dataclass(frozen=True, slots=True)
class GamutSurface:
    """A closed surface about `centre`, as distances by direction; a grey scale has no inside."""

    centre: Array = field(repr=False)
    depth: Array = field(repr=False)
    """(6, D, D): reach along the face's axis through the middle of each direction cell."""
    points_lab: Array = field(repr=False)
    """(F, A, B, 3): points of the surface, neighbours beside each other on each of F sheets."""
    seeds: NDArray[np.int64] = field(repr=False)
    """(n, 3): places in `points_lab` a search starts from, by the numbers of `near`."""
    near: Nearby = field(repr=False)
    volume_lab3: float

    def inside(self, lab: ArrayLike) -> NDArray[np.bool_]:
        """Whether colours (..., 3) lie inside or on the surface."""
        lab = np.asarray(lab, dtype=np.float64)
        face, u, v, reach = _direction(lab.reshape(-1, 3) - self.centre)
        return (reach <= _bilinear(self.depth, face, u, v)).reshape(lab.shape[:-1])

    def signed_de00(self, lab: ArrayLike) -> Array:
        """dE00 to the nearest surface point, negative inside. lab: (..., 3) media-relative; returns (...,)."""
        lab = np.asarray(lab, dtype=np.float64)
        flat = lab.reshape(-1, 3)
        away = np.empty(len(flat))

        def work(part: slice) -> None:
            for start in range(part.start, part.stop, PIECE):
                piece = slice(start, min(start + PIECE, part.stop))
                away[piece] = self._nearest_de00(flat[piece])

        in_slices(len(flat), work, smallest=PIECE)
        return np.where(self.inside(flat), -away, away).reshape(lab.shape[:-1])

    def beyond_de00(self, lab: ArrayLike) -> Array:
        """0 for colours that can be printed, else dE00 to the nearest that can. lab: (..., 3) media-relative."""
        lab = np.asarray(lab, dtype=np.float64)
        flat = lab.reshape(-1, 3)
        outside = ~self.inside(flat)
        beyond = np.zeros(len(flat))
        beyond[outside] = np.maximum(self.signed_de00(flat[outside]), 0.0)
        return beyond.reshape(lab.shape[:-1])

    def _nearest_de00(self, lab: Array) -> Array:
        """dE00 (n,) from colours (n, 3) to the surface points nearest to them."""
        rows = np.arange(len(lab))
        started = self.seeds[self.near.nearest(_even(lab), SEEDS_TRIED)]
        away = _de00(lab, self.points_lab[tuple(np.moveaxis(started, -1, 0))])
        best = away.argmin(axis=1)
        place, nearest = started[rows, best], away[rows, best]
        last = np.array(self.points_lab.shape[1:3]) - 1
        for step in SEARCH_STEPS:
            around = np.clip(place[:, None, 1:] + step * NEIGHBOURS, 0, last)
            away = _de00(lab, self.points_lab[place[:, :1], around[..., 0], around[..., 1]])
            best = away.argmin(axis=1)
            better = away[rows, best] < nearest
            nearest = np.where(better, away[rows, best], nearest)
            place[better, 1:] = around[better, best[better]]
        return nearest.astype(np.float64)


def surface(profile: Profile) -> GamutSurface:
    """The surface of a condition's colours, media-relative Lab (A2B1). Any number of inks, grey included.

    The last few are remembered by the profile's bytes.
    """
    return _surface(profile.data)


@lru_cache(maxsize=8)
def _surface(data: bytes) -> GamutSurface:
    profile = parse_profile(data)
    corners = to_lab(profile, np.array([np.zeros(profile.channels), np.ones(profile.channels)]))
    meshes = to_lab(profile, np.stack(list(_boundary(profile.channels)))).astype(np.float64)
    if profile.channels == 1:
        line = meshes.reshape(1, 1, -1, 3)
        return _gathered(line[0, 0, LINE_STEPS // 2], np.zeros((6, DIRECTIONS, DIRECTIONS)), line)
    centre = np.array([corners[:, 0].mean(), *meshes[..., 1:].mean(axis=(0, 1, 2))])
    depth = np.zeros((6, DIRECTIONS, DIRECTIONS))
    triangles = _triangles(meshes - centre)
    for face in range(6):
        _draw(depth[face], _turn(triangles, face))
    _fill(depth)
    points = [centre + _turn_back(_rays() * depth[face, ..., None], face) for face in range(6)]
    return _gathered(centre, depth, np.stack(points))


def _de00(lab: Array, points: Array) -> NDArray[np.float32]:
    """dE00 (n, k) from colours (n, 3) to points (n, k, 3)."""
    shape = points.shape[:2]
    repeated = np.repeat(np.ascontiguousarray(lab.T, dtype=np.float32), shape[1], axis=1)
    return ciede2000_32(repeated, planes_of(points)).reshape(shape)


def _gathered(centre: Array, depth: Array, points: Array) -> GamutSurface:
    """A surface with its starts and volume: pyramids of solid angle du dv and height `depth`."""
    sheets, rows, columns = points.shape[:3]
    starts = [np.arange(min(SEED_SPACING, n) // 2, n, SEED_SPACING) for n in (rows, columns)]
    seeds = np.stack(np.meshgrid(np.arange(sheets), *starts, indexing="ij"), axis=-1).reshape(-1, 3)
    patch = seeds // (SEED_SPACING * PATCH_SIDE)
    seeds = seeds[np.lexsort((*seeds.T[::-1], patch[:, 2], patch[:, 1], seeds[:, 0]))]
    near = Nearby(_even(points[tuple(seeds.T)]))
    volume = float((depth**3).sum() / 3 * (2 / DIRECTIONS) ** 2)
    return GamutSurface(centre, depth, points, seeds, near, volume)


def _boundary(channels: int) -> Iterator[Array]:
    """Meshes (S, S, C) over all 2-faces of the device cube; the line (S, 1, 1) for one channel."""
    if channels == 1:
        yield np.linspace(0.0, 1.0, LINE_STEPS + 1)[:, None, None]
        return
    faces = channels * (channels - 1) // 2 * 2 ** (channels - 2)
    cells = max(FEWEST_STEPS, min(FACE_STEPS, math.isqrt(MOST_CELLS // faces)))
    steps = np.linspace(0.0, 1.0, cells + 1)
    for first, second in combinations(range(channels), 2):
        for others in product((0.0, 1.0), repeat=channels - 2):
            mesh = np.empty((cells + 1, cells + 1, channels))
            mesh[..., [c for c in range(channels) if c not in (first, second)]] = others
            mesh[..., first], mesh[..., second] = np.meshgrid(steps, steps, indexing="ij")
            yield mesh


def _triangles(mesh: Array) -> Array:
    """The two triangles of every cell of meshes (M, S, S, 3): (T, 3, 3)."""
    a, b, c, d = mesh[:, :-1, :-1], mesh[:, 1:, :-1], mesh[:, :-1, 1:], mesh[:, 1:, 1:]
    cells = [np.stack([a, b, c], axis=-2), np.stack([d, c, b], axis=-2)]
    return np.concatenate([cell.reshape(-1, 3, 3) for cell in cells])


def _turn(vectors: Array, face: int) -> Array:
    """Vectors (..., 3) as a face of the direction cube sees them: its axis last, pointing outwards."""
    axis, sign = face % 3, 1.0 if face < 3 else -1.0
    return np.roll(vectors, 2 - axis, axis=-1) * [1.0, 1.0, sign]


def _turn_back(vectors: Array, face: int) -> Array:
    axis, sign = face % 3, 1.0 if face < 3 else -1.0
    return np.roll(vectors * [1.0, 1.0, sign], axis - 2, axis=-1)


def _rays() -> Array:
    """The middle directions (u, v, 1) of a face's cells, (D, D, 3)."""
    middle: Array = (np.arange(DIRECTIONS, dtype=np.float64) + 0.5) * (2 / DIRECTIONS) - 1
    u, v = np.meshgrid(middle, middle, indexing="ij")
    return np.stack([u, v, np.ones_like(u)], axis=-1)


def _draw(depth: Array, triangles: Array) -> None:
    """Draw triangles (T, 3, 3), the face's axis last, into its depths (D, D): the outermost counts."""
    triangles = triangles[(triangles[..., 2] > 1e-6).all(axis=1)]
    corners = np.ascontiguousarray(triangles.transpose(1, 2, 0))
    pixel = (corners[:, :2] / corners[:, 2:] + 1) * (DIRECTIONS / 2) - 0.5
    low = np.clip(np.ceil(pixel.min(axis=0) - 1e-9), 0, DIRECTIONS).astype(int)
    high = np.clip(np.floor(pixel.max(axis=0) + 1e-9), -1, DIRECTIONS - 1).astype(int)
    span = np.maximum(high - low + 1, 0)
    count = span[0] * span[1]
    seen = np.flatnonzero(count)
    corners, low, span, count = corners[..., seen], low[:, seen], span[:, seen], count[seen]
    owner = np.repeat(np.arange(len(count)), count)
    nth = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    down, right = np.divmod(nth, span[1][owner])
    i, j = low[0][owner] + down, low[1][owner] + right
    u, v = (i + 0.5) * (2 / DIRECTIONS) - 1, (j + 0.5) * (2 / DIRECTIONS) - 1
    # A ray r = (u, v, 1) meets the plane of the triangle (a, b, c) at depth det / (weights of r).
    a, b, c = corners
    cofactors = _cross(b, c), _cross(c, a), _cross(a, b)
    determinant = (a * cofactors[0]).sum(axis=0)
    weights = [_along(cofactor * np.sign(determinant), owner, u, v) for cofactor in cofactors]
    total = weights[0] + weights[1] + weights[2]
    hit = total > 0
    for weight in weights:
        hit &= weight >= -1e-9 * np.abs(total)
    reach = np.abs(determinant)[owner[hit]] / total[hit]
    np.maximum.at(depth.reshape(-1), i[hit] * DIRECTIONS + j[hit], reach)


def _cross(p: Array, q: Array) -> Array:
    """Cross products of vectors as planes (3, n)."""
    return np.stack([p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]])


def _along(vector: Array, owner: NDArray[np.int64], u: Array, v: Array) -> Array:
    """Products of rays (u, v, 1) with the vectors (3, T) they belong to."""
    product = vector[0][owner] * u
    product += vector[1][owner] * v
    product += vector[2][owner]
    return product


def _fill(depth: Array) -> None:
    """Give cells no triangle reached (cracks at seams) the mean of their neighbours."""
    for _ in range(DIRECTIONS):
        empty = depth <= 0
        if not empty.any():
            return
        padded = np.pad(depth, ((0, 0), (1, 1), (1, 1)))
        total, known = np.zeros_like(depth), np.zeros_like(depth)
        for di, dj in product((0, 1, 2), repeat=2):
            near = padded[:, di : di + DIRECTIONS, dj : dj + DIRECTIONS]
            total, known = total + near, known + (near > 0)
        depth[empty] = (total / np.maximum(known, 1))[empty]


def _direction(vectors: Array) -> tuple[NDArray[np.int64], Array, Array, Array]:
    """The face each vector (n, 3) leaves the direction cube by, where (u, v in -1..1), and its depth there."""
    axis = np.abs(vectors).argmax(axis=1)
    rows = np.arange(len(vectors))
    along = vectors[rows, axis]
    reach = np.abs(along)
    safe = np.maximum(reach, 1e-12)
    u, v = vectors[rows, (axis + 1) % 3] / safe, vectors[rows, (axis + 2) % 3] / safe
    return axis + np.where(along < 0, 3, 0), u, v, reach


def _bilinear(depth: Array, face: NDArray[np.int64], u: Array, v: Array) -> Array:
    """Depths between cell middles, of their inverse, in which flat pieces of surface stay flat."""
    x = np.clip((u + 1) * (DIRECTIONS / 2) - 0.5, 0, DIRECTIONS - 1)
    y = np.clip((v + 1) * (DIRECTIONS / 2) - 0.5, 0, DIRECTIONS - 1)
    i, j = np.minimum(x.astype(int), DIRECTIONS - 2), np.minimum(y.astype(int), DIRECTIONS - 2)
    s, t = x - i, y - j
    inverse = 1 / np.maximum(depth, 1e-9)
    near = (1 - t) * inverse[face, i, j] + t * inverse[face, i, j + 1]
    far = (1 - t) * inverse[face, i + 1, j] + t * inverse[face, i + 1, j + 1]
    return 1 / ((1 - s) * near + s * far)


def _even(lab: Array) -> Array:
    """Lab (n, 3) bent so that straight distances are roughly dE00: only to choose candidates by.

    Lightness and chroma are the integrals of 1 / S_L and 1 / S_C (Sharma2005), hue stays.
    """
    table = np.linspace(-50.0, 150.0, 401)
    weight = 1 / (1 + 0.015 * (table - 50) ** 2 / np.sqrt(20 + (table - 50) ** 2))
    bent = np.concatenate([[0.0], np.cumsum((weight[1:] + weight[:-1]) / 2 * 0.5)])
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    g = 0.5 * (1 - np.sqrt(chroma**7 / (chroma**7 + 25.0**7)))
    a = lab[:, 1] * (1 + g)
    chroma = np.hypot(a, lab[:, 2])
    ratio = np.log1p(0.045 * chroma) / (0.045 * np.maximum(chroma, 1e-9))
    return np.stack([np.interp(lab[:, 0], table, bent), a * ratio, lab[:, 2] * ratio], axis=-1)
