"""Two ways the guideline for comparing fits names, for comparison only: HPMINDE and SGCK.

Source: CIE156. Their constants are as remembered (REFERENCE: not seen in print).
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.icc.gamut import GamutSurface

Array = NDArray[np.float64]

HUES: Final = 180
LEVELS: Final = 101
FARTHEST: Final = 200.0
HALVINGS: Final = 14
KNEE: Final = 0.9
SIGMOIDS: Final = ((5.0, 53.7, 43.0), (10.0, 56.8, 40.0), (15.0, 58.2, 35.0), (20.0, 60.6, 34.5))
"""L* of the darkest colour, centre and width of the lightness sigmoid."""
SOURCE_CHROMA: Final = 1.8
"""How far the source's colours are taken to reach, times the paper's, where the picture does not say."""


class LabReach:
    """Chroma reach of a condition over hue h_ab and L*, (HUES, LEVELS)."""

    def __init__(self, hull: GamutSurface, black_lstar: float) -> None:
        hue = np.radians(np.arange(HUES) * (360 / HUES))[:, None]
        level = np.linspace(0, 100, LEVELS)[None, :]
        low, high = np.zeros((HUES, LEVELS)), np.full((HUES, LEVELS), FARTHEST)
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            lab = np.stack(np.broadcast_arrays(level, middle * np.cos(hue), middle * np.sin(hue)), axis=-1)
            held = hull.inside(lab)
            low, high = np.where(held, middle, low), np.where(held, high, middle)
        low[:, np.linspace(0, 100, LEVELS) < black_lstar] = 0.0
        self.black_lstar = black_lstar
        self.reach = low
        self.cusp_lstar = np.linspace(0, 100, LEVELS)[low.argmax(axis=1)]

    def at(self, hue_deg: Array, lightness: Array) -> Array:
        """Reach by bilinear interpolation; 0 beyond black and white."""
        h, v = hue_deg / (360 / HUES), np.clip(lightness, 0, 100) * (LEVELS - 1) / 100
        h0, v0 = np.floor(h).astype(np.int64), np.minimum(v.astype(np.int64), LEVELS - 2)
        s, t = h - h0, v - v0
        a, b = h0 % HUES, (h0 + 1) % HUES
        near = (1 - t) * self.reach[a, v0] + t * self.reach[a, v0 + 1]
        return (1 - s) * near + s * ((1 - t) * self.reach[b, v0] + t * self.reach[b, v0 + 1])


def hpminde(lab: Array, reach: LabReach) -> Array:
    """HPMINDE: colours outside go to the nearest (dE*ab) of the same h_ab that is held. lab (n, 3). Source: CIE156."""
    chroma, hue = np.hypot(lab[:, 1], lab[:, 2]), np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) % 360
    out = (chroma > reach.at(hue, lab[:, 0])) | (lab[:, 0] < reach.black_lstar)
    best, pick = np.full(len(lab), np.inf), np.stack([lab[:, 0], chroma], axis=-1)
    for level in np.linspace(reach.black_lstar, 100, 2 * LEVELS):
        held = np.minimum(reach.at(hue, np.full(len(lab), level)), chroma)
        away = (level - lab[:, 0]) ** 2 + (held - chroma) ** 2
        nearer = out & (away < best)
        best[nearer] = away[nearer]
        pick[nearer] = np.stack([np.full(len(lab), level), held], axis=-1)[nearer]
    scale = pick[:, 1] / np.maximum(chroma, 1e-9)
    return np.stack([pick[:, 0], lab[:, 1] * scale, lab[:, 2] * scale], axis=-1)


def sgck_lightness(lightness: Array, chroma: Array, black_lstar: float) -> Array:
    """SGCK's lightness: a sigmoid from 0-100 to black-100, weaker for strong colours. Source: CIE156 (memory).

    >>> sgck_lightness(np.array([50.0]), np.array([0.0]), 20.0).round(2).tolist()
    [52.95]
    """
    darkest, centres, widths = (np.array(column) for column in zip(*SIGMOIDS, strict=True))
    centre, width = np.interp(black_lstar, darkest, centres), np.interp(black_lstar, darkest, widths)
    total = np.concatenate([[0.0], np.cumsum(np.exp(-(((np.arange(1, 101) - centre) / width) ** 2) / 2))])
    bent = black_lstar + total / total[-1] * (100 - black_lstar)
    weight = 1 - np.sqrt(chroma**3 / (chroma**3 + 5e5))
    return (1 - weight) * lightness + weight * np.interp(lightness, np.arange(101), bent)


def sgck(lab: Array, reach: LabReach, source: float = SOURCE_CHROMA) -> Array:
    """SGCK: sigmoid lightness, then a knee of 0.9 towards the grey of the cusp's lightness. (n, 3). Source: CIE156."""
    chroma, hue = np.hypot(lab[:, 1], lab[:, 2]), np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) % 360
    lightness = sgck_lightness(np.clip(lab[:, 0], 0, 100), chroma, reach.black_lstar)
    middle = np.interp(hue, np.arange(HUES + 1) * (360 / HUES), np.append(reach.cusp_lstar, reach.cusp_lstar[0]))
    up, length = lightness - middle, np.hypot(chroma, lightness - middle)
    low, high = np.zeros(len(lab)), np.full(len(lab), 2.0)
    for _ in range(HALVINGS):  # where the ray from the cusp's grey through the colour leaves the paper, as a share
        share = (low + high) / 2
        at = middle + share * up
        held = (share * chroma <= reach.at(hue, at)) & (at >= reach.black_lstar) & (at <= 100)
        low, high = np.where(held, share, low), np.where(held, high, share)
    paper = low * length
    wide = np.maximum(paper * source, paper * KNEE + 1e-6)
    beyond = KNEE * paper + (length - KNEE * paper) * (1 - KNEE) * paper / np.maximum(wide - KNEE * paper, 1e-9)
    moved = np.where(length <= KNEE * paper, length, np.minimum(beyond, paper)) / np.maximum(length, 1e-9)
    return np.stack([middle + up * moved, lab[:, 1] * moved, lab[:, 2] * moved], axis=-1)
