"""How far a condition's colours reach, hue by hue, in IPT, where lines of one hue are straight.

The reach is a table of chroma over hue and lightness, searched by halving on the surface of the
condition's colours (`icc.gamut`). Two things bend the plain definition: the grey axis leans to the
paper's own black, whose slight tint would else leave dark greys outside; and a colour only counts as
held when the condition's own inversion (B2A1) prints it, which a limit on ink can prevent.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.ndimage import gaussian_filter

from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.ipt import POWER, ipt_to_xyz, xyz_to_ipt
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, lightness_from_y, xyz_to_lab, y_from_lightness
from wallworthy.fit.inverse import nearest_device
from wallworthy.icc.blackpoint import destination_black
from wallworthy.icc.gamut import surface
from wallworthy.icc.quick import print_lab
from wallworthy.icc.read import Profile, parse_profile

Array = NDArray[np.float64]

GREY: Final = xyz_to_ipt(PCS_WHITE) * [0, 1, 1]
"""What rounding in the model's constants leaves of chroma in white, some 0.0002."""

HUES: Final = 120
LEVELS: Final = 65
FARTHEST: Final = 1.2
"""Beyond the IPT chroma of any surface colour (spectral blue has about 1)."""
HALVINGS: Final = 11
LEAN: Final = 6
"""The axis leans as the sixth power of what is left to white: gone by a third of the way up."""
STEEPEST: Final = 4.0
"""Chroma that the reach may gain on a step in I: where a paper's colours widen faster, neighbours would part."""
SOFTEN: Final = 0.7
"""Cells of the table that corners are softened over."""
MISSED_DE00: Final = 1.5
"""A colour whose own inversion misses it by more can't be printed, whatever the surface says."""


@dataclass(frozen=True, slots=True)
class Boundary:
    """Reach of a condition in IPT. Lightness I and chroma are IPT's, 0 to about 1."""

    black_i: float
    """I of the darkest grey the condition prints."""
    black_lstar: float
    reach: Array = field(repr=False)
    """(HUES, LEVELS): chroma at hues 0, 3, ... 357 degrees and I from black to white."""
    cusp_i: Array = field(repr=False)
    """(HUES,): I of the strongest colour of each hue."""
    cusp_chroma: Array = field(repr=False)
    volume: float
    """Of the reach, in units of IPT cubed."""

    def reach_at(self, hue_deg: ArrayLike, i: ArrayLike) -> Array:
        """Chroma reach at hues and lightnesses, broadcast; 0 below black and above white."""
        hue, level = np.broadcast_arrays(np.asarray(hue_deg, float), np.asarray(i, float))
        u = (level - self.black_i) / (1 - self.black_i)
        reach = between(self.reach, hue, np.clip(u, 0, 1))
        return np.where((u < 0) | (u > 1), 0.0, reach)

    def inside(self, ipt: ArrayLike) -> NDArray[np.bool_]:
        """Whether colours (..., 3) are held."""
        ipt = np.asarray(ipt, dtype=np.float64)
        within = (ipt[..., 0] >= self.black_i) & (ipt[..., 0] <= 1)
        return within & (np.hypot(ipt[..., 1], ipt[..., 2]) <= self.reach_at(hue_of(ipt), ipt[..., 0]))

    def nearest(self, ipt: ArrayLike, lightness_weight: float = 1.0) -> Array:
        """The nearest held colour of the same hue, by distance in I (weighted) and chroma; held ones stay. (..., 3)."""
        ipt = np.asarray(ipt, dtype=np.float64)
        out = ipt.reshape(-1, 3).copy()
        away = ~self.inside(out)
        if away.any():
            out[away] = self._pulled(out[away], lightness_weight)
        return out.reshape(ipt.shape)

    def _pulled(self, ipt: Array, weight: float) -> Array:
        hue, chroma = hue_of(ipt), np.hypot(ipt[:, 1], ipt[:, 2])
        levels = np.linspace(0, 1, 4 * (LEVELS - 1) + 1)
        at = self.black_i + levels * (1 - self.black_i)
        best, pick = np.full(len(ipt), np.inf), np.zeros((len(ipt), 2))
        for u, level in zip(levels, at, strict=True):
            held = np.minimum(between(self.reach, hue, np.full(len(ipt), u)), chroma)
            away = (weight * (level - ipt[:, 0])) ** 2 + (held - chroma) ** 2
            nearer = away < best
            best = np.where(nearer, away, best)
            pick[nearer] = np.stack([np.full(len(ipt), level), held], axis=-1)[nearer]
        scale = pick[:, 1] / np.maximum(chroma, 1e-12)
        return np.stack([pick[:, 0], ipt[:, 1] * scale, ipt[:, 2] * scale], axis=-1)


def i_of_lightness(lightness: ArrayLike) -> Array:
    """IPT's I of greys of L* 0-100. Source: Ebner1998."""
    return np.asarray(np.maximum(y_from_lightness(lightness), 0.0) ** POWER)


def lightness_of_i(i: ArrayLike) -> Array:
    """L* of greys of IPT's I; the inverse of `i_of_lightness`. Source: Ebner1998."""
    return lightness_from_y(np.maximum(np.asarray(i, dtype=np.float64), 0.0) ** (1 / POWER))


def lab_to_ipt(lab: ArrayLike) -> Array:
    """Media-relative Lab (..., 3) to IPT, greys exactly without chroma. Source: Ebner1998."""
    ipt = xyz_to_ipt(lab_to_xyz(lab))
    return ipt - ipt[..., :1] * GREY


def ipt_to_lab(ipt: ArrayLike) -> Array:
    """The inverse of `lab_to_ipt`. Source: Ebner1998."""
    ipt = np.asarray(ipt, dtype=np.float64)
    return xyz_to_lab(ipt_to_xyz(ipt + ipt[..., :1] * GREY))


def boundary(profile: Profile) -> Boundary:
    """The boundary of a condition's colours; the last few are remembered by the profile's bytes."""
    return _boundary(profile.data)


@lru_cache(maxsize=8)
def _boundary(data: bytes) -> Boundary:
    profile = parse_profile(data)
    hull = surface(profile)
    black = lab_to_ipt(np.array(destination_black(profile, "relative")))
    hue = np.radians(np.arange(HUES) * (360 / HUES))[:, None]
    level = np.linspace(0, 1, LEVELS)[None, :]
    lean = (1 - level) ** LEAN
    i = black[0] + level * (1 - black[0])
    low, high = np.zeros((HUES, LEVELS)), np.full((HUES, LEVELS), FARTHEST)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        colour = np.stack(
            np.broadcast_arrays(i, black[1] * lean + middle * np.cos(hue), black[2] * lean + middle * np.sin(hue)), -1
        )
        lab = ipt_to_lab(colour)
        held = hull.inside(lab)
        wanted = lab[held].astype(np.float32)
        held[held] = ciede2000(wanted, print_lab(profile, nearest_device(profile, wanted))) <= MISSED_DE00
        low, high = np.where(held, middle, low), np.where(held, high, middle)
    low[:, [0, -1]] = 0.0
    low = _calmed(low, 1 - black[0])
    cusp = low.argmax(axis=1)
    volume = float((low**2).mean() * np.pi * (1 - black[0]))
    return Boundary(
        float(black[0]),
        float(lightness_of_i(black[0])),
        low,
        i[0, cusp],
        low[np.arange(HUES), cusp],
        volume,
    )


def _calmed(reach: Array, span: float) -> Array:
    """The reach without cliffs: nowhere steeper than STEEPEST, corners softened."""
    steps = STEEPEST * span * np.arange(LEVELS) / (LEVELS - 1)
    rise = steps[np.abs(np.arange(LEVELS)[:, None] - np.arange(LEVELS)[None, :])]
    calm = np.stack([(line[None, :] + rise).min(axis=1) for line in reach])
    wide = np.pad(np.pad(calm, ((4, 4), (0, 0)), mode="wrap"), ((0, 0), (4, 4)), mode="reflect", reflect_type="odd")
    soft = gaussian_filter(wide, SOFTEN)[4:-4, 4:-4]
    soft[:, [0, -1]] = 0.0
    return np.maximum(soft, 0.0)


def hue_of(ipt: Array) -> Array:
    return np.degrees(np.arctan2(ipt[..., 2], ipt[..., 1])) % 360


def between(table: Array, hue_deg: Array, u: Array) -> Array:
    """Bilinear in a table (hues around the circle, levels 0-1)."""
    h = hue_deg / (360 / len(table))
    v = u * (table.shape[1] - 1)
    h0, v0 = np.floor(h).astype(np.int64), np.minimum(v.astype(np.int64), table.shape[1] - 2)
    s, t = h - h0, v - v0
    a, b = h0 % len(table), (h0 + 1) % len(table)
    near = (1 - t) * table[a, v0] + t * table[a, v0 + 1]
    far = (1 - t) * table[b, v0] + t * table[b, v0 + 1]
    return np.asarray((1 - s) * near + s * far)
