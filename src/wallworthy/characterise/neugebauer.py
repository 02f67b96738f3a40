"""The Yule-Nielsen modified Neugebauer model, broadband in XYZ, fitted to measured patches.

Neugebauer1937 mixes the colours of all overprints by the areas they cover, Demichel1924 gives those areas,
YuleNielsen1951 takes the mean of the n-th roots to allow for light that wanders inside the paper.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from wallworthy.colour.lab import lab_to_xyz, xyz_to_lab

Array = NDArray[np.float64]

FACTORS: Final = (1.5, 2.0, 3.0)
CURVE_KNOTS: Final = np.array([0.0, 0.15, 0.4, 0.7, 1.0])
DARKEST: Final = 1e-5
FIT_PATCHES: Final = 300


@dataclass(frozen=True, slots=True, eq=False)
class Neugebauer:
    """A fitted model. areas: (inks, 3, knots) effective coverage per ink and per X, Y, Z at CURVE_KNOTS."""

    n: float
    areas: Array = field(repr=False)
    primaries: Array = field(repr=False)
    """(2**inks, 3) XYZ ** (1/n) of paper, solids and overprints; ink 0 varies slowest."""

    def __call__(self, device: Array) -> Array:
        """Lab (N, 3) for ink amounts (N, inks), 0-1, against the same white as the fitted colours."""
        cover = _coverage(self.areas, device)
        mixed = np.stack([demichel(cover[:, :, k]) @ self.primaries[:, k] for k in range(3)], axis=1)
        return _lab_of(mixed, self.n)


def demichel(area: Array) -> Array:
    """Share of the paper under each overprint for ink areas (N, inks): (N, 2**inks), rows sum to 1.

    Source: Demichel1924.

    >>> demichel(np.array([[0.5, 0.25]])).tolist()
    [[0.375, 0.125, 0.375, 0.125]]
    """
    share = np.ones((len(area), 1))
    for ink in range(area.shape[1]):
        a = area[:, ink : ink + 1]
        share = (share[:, :, None] * np.stack([1 - a, a], axis=2)).reshape(len(area), -1)
    return share


def yule_nielsen(share: Array, reflectance: Array, n: float) -> Array:
    """Reflectance of shares (N, P) of colours (P, K), 0-1. Source: YuleNielsen1951.

    >>> yule_nielsen(np.array([[0.5, 0.5]]), np.array([[1.0], [0.25]]), 2.0).tolist()
    [[0.5625]]
    """
    return (share @ reflectance ** (1 / n)) ** n


def fit_neugebauer(device: Array, lab: Array) -> Neugebauer:
    """The model that explains patches best: n from a short list, curves and overprints by least squares in Lab.

    device: (N, inks) 0-1; lab: (N, 3). Uses about 300 patches, evenly picked, and all the solids.
    """
    solids = np.isin(device, (0.0, 1.0)).all(axis=1)
    picked = solids | (np.arange(len(device)) % max(1, len(device) // FIT_PATCHES) == 0)
    x, target = device[picked], lab[picked]
    fits = [_fit_with(n, x, target) for n in FACTORS]
    return min(fits, key=lambda fit: fit[0])[1]


def _fit_with(n: float, x: Array, lab: Array) -> tuple[float, Neugebauer]:
    xyz = np.maximum(lab_to_xyz(lab), DARKEST)
    inks = x.shape[1]
    inner = CURVE_KNOTS[1:-1]
    start = np.tile(inner**0.8, inks * 3)

    # Slopes are taken one number at a time, so most curves and channels are as they were a moment ago.
    @lru_cache(maxsize=2 * inks)
    def cover_of(ink: int, curves: bytes) -> Array:
        return _coverage(np.frombuffer(curves).reshape(1, 3, -1), x[:, ink : ink + 1])[:, 0]

    @lru_cache(maxsize=6)
    def channel_of(k: int, cover: bytes) -> tuple[Array, Array]:
        """The primaries of a channel (2**inks,), and what they print of the patches (N,), n-th roots both."""
        share, root = demichel(np.frombuffer(cover).reshape(-1, inks)), xyz[:, k] ** (1 / n)
        weighted = share / (root[:, None] + 0.15) ** 2
        ridge = 1e-5 * np.eye(share.shape[1])
        primaries = np.linalg.solve(
            np.einsum("np,nq->pq", weighted, share) + ridge, weighted.T @ root + ridge @ np.full(2**inks, 0.3)
        )
        return primaries, share @ primaries

    def areas_of(parameters: Array) -> Array:
        areas = np.zeros((inks, 3, len(CURVE_KNOTS)))
        areas[:, :, 1:-1] = parameters.reshape(inks, 3, -1)
        areas[:, :, -1] = 1.0
        return areas

    def channels_of(areas: Array) -> list[tuple[Array, Array]]:
        cover = np.stack([cover_of(ink, areas[ink].tobytes()) for ink in range(inks)], axis=1)
        return [channel_of(k, cover[:, :, k].tobytes()) for k in range(3)]

    def misfit(parameters: Array) -> Array:
        mixed = np.stack([printed for _, printed in channels_of(areas_of(parameters))], axis=1)
        return (_lab_of(mixed, n) - lab).ravel()

    found = least_squares(misfit, start, bounds=(0.0, 1.0), max_nfev=5)
    areas = areas_of(found.x)
    primaries = np.stack([primaries for primaries, _ in channels_of(areas)], axis=1)
    return float(found.cost), Neugebauer(n, areas, primaries)


def _lab_of(mixed: Array, n: float) -> Array:
    return xyz_to_lab(np.maximum(mixed, DARKEST ** (1 / n)) ** n)


def _coverage(areas: Array, device: Array) -> Array:
    """Effective coverage (N, inks, 3): a monotone cubic through the knots, per ink and channel."""
    from scipy.interpolate import PchipInterpolator

    cover = np.empty((*device.shape, 3))
    for ink in range(device.shape[1]):
        cover[:, ink, :] = PchipInterpolator(CURVE_KNOTS, areas[ink].T, axis=0)(device[:, ink])
    return np.clip(cover, 0.0, 1.0)
