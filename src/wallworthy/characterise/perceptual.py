"""The perceptual intent: a generic reference gamut squeezed smoothly into the print's.

Reference: the gamut of Display P3 primaries under D50, black at L* 0 and white at L* 100, as a stand-in
for what pictures hold. First lightness: unchanged above a knee, below it a parabola that takes 0 to the print's
black. Then, along the line from a fixed grey (L* 55), the outer quarter of the print's reach takes in
what lies between it and the reference's surface (rational curve, slope 1 where it sets in). Our own design; the
pattern (lightness first, then towards grey with a knee) is that of CIE156's recommended SGCK.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, map_coordinates

from wallworthy.characterise.grid import grid_points
from wallworthy.colour.bradford import bradford_matrix
from wallworthy.colour.chromaticity import xy_to_xyz
from wallworthy.colour.lab import PCS_WHITE, xyz_to_lab
from wallworthy.colour.working import rgb_to_xyz_matrix

Array = NDArray[np.float64]

REFERENCE_PRIMARIES_XY: Final = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
REFERENCE_WHITE_XY: Final = (0.3127, 0.3290)
CENTRE: Final = np.array([55.0, 0.0, 0.0])
KNEE: Final = 0.75
HUES: Final = 72
HEIGHTS: Final = 37


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """How far a gamut reaches from the centre in every direction: (HUES, HEIGHTS) Lab units."""

    radius: Array = field(repr=False)

    def towards(self, direction: Array) -> Array:
        """Radius (N,) along directions (N, 3), of any length."""
        hue, height = _angles(direction)
        wrapped = np.concatenate([self.radius, self.radius[:1]], axis=0)
        return map_coordinates(wrapped, np.stack([hue * HUES, height * (HEIGHTS - 1)]), order=1, mode="nearest")


def reach_of(surface_lab: Array) -> Reach:
    """The reach of a gamut from a dense sample (N, 3) of its surface (N well above 10 000)."""
    offset = surface_lab - CENTRE
    hue, height = _angles(offset)
    i = np.round(hue * HUES).astype(int) % HUES
    j = np.round(height * (HEIGHTS - 1)).astype(int)
    radius = np.zeros((HUES, HEIGHTS))
    np.maximum.at(radius, (i, j), np.linalg.norm(offset, axis=1))
    for end in (0, HEIGHTS - 1):
        radius[:, end] = radius[:, end].max()
    radius = _filled(radius)
    return Reach(_blurred(radius, 0.6))


def surface_points(channels: int, steps: int = 33) -> Array:
    """Device values on all two-dimensional faces of the device cube."""
    plane = grid_points(steps, 2)
    faces: list[Array] = []
    for free in itertools.combinations(range(channels), 2):
        rest = [k for k in range(channels) if k not in free]
        for ends in itertools.product((0.0, 1.0), repeat=len(rest)):
            face = np.zeros((len(plane), channels))
            face[:, free] = plane
            face[:, rest] = ends
            faces.append(face)
    return np.concatenate(faces)


def perceptual_targets(lab: Array, print_surface_lab: Array, black_lstar: float) -> Array:
    """Where each colour (N, 3) of the connection space goes: Lab within the print's gamut or on its surface.

    print_surface_lab: (M, 3) sample of the print's gamut surface; black_lstar: the darkest neutral printed.
    Neutrals stay neutral; (100, 0, 0) stays itself.
    """
    printed, reference = reach_of(print_surface_lab), reach_of(_lifted(_reference_surface(), black_lstar))
    moved = _lifted(lab, black_lstar)
    offset = moved - CENTRE
    distance = np.linalg.norm(offset, axis=1)
    direction = np.where(distance[:, None] > 1e-9, offset, np.array([1.0, 0.0, 0.0]))
    inner, outer = printed.towards(direction), reference.towards(direction)
    chroma = np.hypot(moved[:, 1], moved[:, 2])
    knee = KNEE * inner
    need = np.maximum((outer - knee) / (inner - knee), 1.0)
    way = np.clip((distance - knee) / (np.maximum(outer, inner) - knee), 0, 1)
    squeezed = knee + (inner - knee) * need * way / (1 + (need - 1) * way)
    squeezed = np.where(distance > knee, squeezed, distance)
    squeezed = np.where(need > 1.0, squeezed, np.minimum(distance, inner))
    factor = squeezed / np.maximum(distance, 1e-9)
    # along the neutral axis the lightness curve alone decides; it takes over smoothly within chroma 8
    share = np.clip(chroma / 8, 0, 1) ** 2
    return CENTRE + offset * (1 + share * (factor - 1))[:, None]


def lifted_lightness(lightness: Array, black_lstar: float) -> Array:
    """L* 0-100 to black-100: a parabola up to the knee (slope 1 there), unchanged above.

    >>> lifted_lightness(np.array([0.0, 80.0]), 15.0).tolist()
    [15.0, 80.0]
    """
    knee = min(max(3 * black_lstar, 30.0), 75.0)
    slope = 1 - 2 * black_lstar / knee
    curve = black_lstar + slope * lightness + (1 - slope) / (2 * knee) * lightness**2
    return np.where(lightness < knee, curve, lightness)


def _lifted(lab: Array, black_lstar: float) -> Array:
    return np.column_stack([lifted_lightness(lab[:, 0], black_lstar), lab[:, 1:]])


def _reference_surface() -> Array:
    white = xy_to_xyz(REFERENCE_WHITE_XY)
    to_pcs = bradford_matrix(white, PCS_WHITE) @ rgb_to_xyz_matrix(REFERENCE_PRIMARIES_XY, white)
    return xyz_to_lab(surface_points(3, 65) ** 2.4 @ to_pcs.T)


def _angles(offset: Array) -> tuple[Array, Array]:
    """Hue and height (from straight down to straight up) as 0-1."""
    chroma = np.hypot(offset[:, 1], offset[:, 2])
    hue = np.arctan2(offset[:, 2], offset[:, 1]) / (2 * np.pi) % 1.0
    return hue, np.arctan2(offset[:, 0], chroma) / np.pi + 0.5


def _filled(radius: Array) -> Array:
    """Directions that no sample fell into take the mean of their neighbours."""
    while (radius == 0).any():
        known = (radius > 0).astype(float)
        around = _blurred(radius, 1.0)
        weight = _blurred(known, 1.0)
        radius = np.where((radius == 0) & (weight > 1e-3), around / np.maximum(weight, 1e-3), radius)
    return radius


def _blurred(radius: Array, sigma: float) -> Array:
    """Round the hues and up the heights."""
    return gaussian_filter1d(gaussian_filter1d(radius, sigma, axis=0, mode="wrap"), sigma, axis=1, mode="nearest")
