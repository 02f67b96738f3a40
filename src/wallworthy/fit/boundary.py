"""How far a condition's colours reach, hue by hue, in IPT, where lines of one hue are straight, by light as L* has it.

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
from wallworthy.colour.ipt import FROM_OPPONENT, FROM_PCS, OPPONENT, POWER, TO_PCS
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, lightness_from_y, xyz_to_lab, y_from_lightness
from wallworthy.fit.inverse import nearest_device
from wallworthy.icc.blackpoint import destination_black
from wallworthy.icc.gamut import surface
from wallworthy.icc.quick import print_lab
from wallworthy.icc.read import Profile, parse_profile

Array = NDArray[np.float64]

GREY: Final = ((PCS_WHITE @ FROM_PCS.T) ** POWER @ OPPONENT.T) * [0, 1, 1]
"""What rounding in the model's constants leaves of chroma in white, some 0.0002."""

HUES: Final = 120
LEVELS: Final = 65
FARTHEST: Final = 1.2
"""Beyond the IPT chroma of any surface colour (spectral blue has about 1)."""
HALVINGS: Final = 11
LEAN: Final = 6
"""The axis leans as the sixth power of what is left to white: gone by a third of the way up."""
STEEPEST: Final = 8.0
"""Chroma that the reach may gain on a step in J: where a paper's colours widen faster, neighbours would part."""
SOFTEN: Final = 0.7
"""Cells of the table that corners are softened over."""
TOE: Final = 0.006
"""Light of a cone, white 1, about which the power turns straight."""
LIGHT_ROUNDS: Final = 3
LEAST_LIGHT: Final = 1e-9
LEAST_SLOPE: Final = 0.05
LONGEST: Final = 0.2
"""Bounds of the steps from J to I; after three of them colours of pictures are within 1e-9 L*."""
MISSED_DE00: Final = 1.5
"""A colour whose own inversion misses it by more can't be printed, whatever the surface says."""


@dataclass(frozen=True, slots=True)
class Boundary:
    """Reach of a condition by J (`lab_to_jpt`), hue and chroma of IPT, 0 to about 1."""

    black_i: float
    """J of the darkest grey the condition prints."""
    black_lstar: float
    reach: Array = field(repr=False)
    """(HUES, LEVELS): chroma at hues 0, 3, ... 357 degrees and J from black to white."""
    cusp_i: Array = field(repr=False)
    """(HUES,): J of the strongest colour of each hue."""
    cusp_chroma: Array = field(repr=False)
    volume: float
    """Of the reach, in units of IPT cubed."""

    def reach_at(self, hue_deg: ArrayLike, i: ArrayLike) -> Array:
        """Chroma reach at hues and lightnesses, broadcast; 0 below black and above white."""
        hue, level = np.broadcast_arrays(np.asarray(hue_deg, float), np.asarray(i, float))
        u = (level - self.black_i) / (1 - self.black_i)
        reach = between(self.reach, hue, np.clip(u, 0, 1))
        return np.where((u < 0) | (u > 1), 0.0, reach)

    def inside(self, jpt: ArrayLike) -> NDArray[np.bool_]:
        """Whether colours (..., 3) are held."""
        jpt = np.asarray(jpt, dtype=np.float64)
        within = (jpt[..., 0] >= self.black_i) & (jpt[..., 0] <= 1)
        return within & (np.hypot(jpt[..., 1], jpt[..., 2]) <= self.reach_at(hue_of(jpt), jpt[..., 0]))

    def nearest(self, jpt: ArrayLike, lightness_weight: float = 1.0) -> Array:
        """The nearest held colour of the same hue, by distance in J (weighted) and chroma; held ones stay. (..., 3)."""
        jpt = np.asarray(jpt, dtype=np.float64)
        out = jpt.reshape(-1, 3).copy()
        away = ~self.inside(out)
        if away.any():
            out[away] = self._pulled(out[away], lightness_weight)
        return out.reshape(jpt.shape)

    def _pulled(self, jpt: Array, weight: float) -> Array:
        hue, chroma = hue_of(jpt), np.hypot(jpt[:, 1], jpt[:, 2])
        levels = np.linspace(0, 1, 4 * (LEVELS - 1) + 1)
        at = self.black_i + levels * (1 - self.black_i)
        best, pick = np.full(len(jpt), np.inf), np.zeros((len(jpt), 2))
        for u, level in zip(levels, at, strict=True):
            held = np.minimum(between(self.reach, hue, np.full(len(jpt), u)), chroma)
            away = (weight * (level - jpt[:, 0])) ** 2 + (held - chroma) ** 2
            nearer = away < best
            best = np.where(nearer, away, best)
            pick[nearer] = np.stack([np.full(len(jpt), level), held], axis=-1)[nearer]
        scale = pick[:, 1] / np.maximum(chroma, 1e-12)
        return np.stack([pick[:, 0], jpt[:, 1] * scale, jpt[:, 2] * scale], axis=-1)


def i_of_lightness(lightness: ArrayLike) -> Array:
    """IPT's I of greys of L* 0-100. Source: Ebner1998."""
    return np.asarray(np.maximum(y_from_lightness(lightness), 0.0) ** POWER)


def lightness_of_i(i: ArrayLike) -> Array:
    """L* of greys of IPT's I; the inverse of `i_of_lightness`. Source: Ebner1998."""
    return lightness_from_y(np.maximum(np.asarray(i, dtype=np.float64), 0.0) ** (1 / POWER))


def lab_to_jpt(lab: ArrayLike) -> Array:
    """Media-relative Lab (..., 3) to J, P, T, our lean on IPT (Ebner1998) for moving colours about.

    P and T are IPT's, with two differences: greys have none at all, and near no light a cone's answer is
    straight (TOE), where the bare power would tear neighbours apart. J is the answer to Y, not I: I calls dark
    strong colours darker than greys of their L*, and greyed at one I they would lose light.
    """
    xyz = lab_to_xyz(lab)
    cones = xyz @ FROM_PCS.T
    jpt = (np.sign(cones) * _bent(np.abs(cones))) @ OPPONENT.T
    jpt -= jpt[..., :1] * GREY
    jpt[..., 0] = np.maximum(xyz[..., 1], 0.0) ** POWER
    return jpt


def jpt_to_lab(jpt: ArrayLike) -> Array:
    """The inverse of `lab_to_jpt`: Newton steps to the I whose light is that of J."""
    jpt = np.asarray(jpt, dtype=np.float64)
    wanted = np.maximum(jpt[..., 0], 0.0)
    i = wanted.copy()
    still = jpt[..., 1:] @ FROM_OPPONENT[:, 1:].T
    rise = FROM_OPPONENT @ np.add(GREY, [1, 0, 0])
    for _ in range(LIGHT_ROUNDS):
        bent = still + i[..., None] * rise
        size = np.abs(bent) + TOE**POWER
        steep = size ** (1 / POWER - 1)
        light = np.maximum((np.sign(bent) * (steep * size - TOE)) @ TO_PCS[1], LEAST_LIGHT)
        slope = light ** (POWER - 1) * ((steep * rise) @ TO_PCS[1])
        i += np.clip((wanted - light**POWER) / np.maximum(slope, LEAST_SLOPE), -LONGEST, LONGEST)
    bent = still + i[..., None] * rise
    return xyz_to_lab((np.sign(bent) * ((np.abs(bent) + TOE**POWER) ** (1 / POWER) - TOE)) @ TO_PCS.T)


def _bent(light: Array) -> Array:
    return np.asarray((light + TOE) ** POWER - TOE**POWER)


def boundary(profile: Profile) -> Boundary:
    """The boundary of a condition's colours; the last few are remembered by the profile's bytes."""
    return _boundary(profile.data)


@lru_cache(maxsize=8)
def _boundary(data: bytes) -> Boundary:
    profile = parse_profile(data)
    hull = surface(profile)
    black = lab_to_jpt(np.array(destination_black(profile, "relative")))
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
        lab = jpt_to_lab(colour)
        held = hull.inside(lab)
        wanted = lab[held].astype(np.float32)
        held[held] = ciede2000(wanted, print_lab(profile, nearest_device(profile, wanted))) <= MISSED_DE00
        low, high = np.where(held, middle, low), np.where(held, high, middle)
    low[:, [0, -1]] = 0.0
    low = calmed(low, 1 - black[0], STEEPEST)
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


def calmed(reach: Array, span: float, steepest: float) -> Array:
    """A table of chroma (HUES, LEVELS) over `span` of J without cliffs: nowhere steeper, corners softened."""
    steps = steepest * span * np.arange(LEVELS) / (LEVELS - 1)
    rise = steps[np.abs(np.arange(LEVELS)[:, None] - np.arange(LEVELS)[None, :])]
    calm = np.stack([(line[None, :] + rise).min(axis=1) for line in reach])
    wide = np.pad(np.pad(calm, ((4, 4), (0, 0)), mode="wrap"), ((0, 0), (4, 4)), mode="reflect", reflect_type="odd")
    soft = gaussian_filter(wide, SOFTEN)[4:-4, 4:-4]
    soft[:, [0, -1]] = 0.0
    return np.maximum(soft, 0.0)


def hue_of(jpt: Array) -> Array:
    return np.degrees(np.arctan2(jpt[..., 2], jpt[..., 1])) % 360


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
