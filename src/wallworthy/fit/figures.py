"""Figures for any fit, computed alike for every way: what a print keeps of a picture.

Pictures are media-relative Lab (H, W, 3): the master after its correction, and the print as A2B1
predicts it. All of it at one viewing resolution, pixels per degree.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.ipt import xyz_to_ipt
from wallworthy.colour.lab import lab_to_xyz
from wallworthy.fit.eye import TEXTURE_DEG, local_deviation, seen_lab, similarity
from wallworthy.raster.filters import extremes_around, smoothed

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SHADOWS_LSTAR: Final = 25.0
COLOURED: Final = 0.06
"""IPT chroma from which a colour has a hue to keep; C*ab of about 11."""
EDGE_LSTAR: Final = 10.0
HALO_DEG: Final = 0.25
HALO_CELLS: Final = (26, 16, 16)
DISTINCT_LSTAR: Final = 0.5
ROUNDING_LSTAR: Final = 0.05


@dataclass(frozen=True, slots=True)
class FitFigures:
    """How much of a picture a print keeps; shares 0-1, NaN where the picture has no such place."""

    scielab_mean: float
    scielab_p95: float
    similarity: float
    texture_shadows: float
    texture_beyond: float
    hue_shift_deg: float
    halo_lstar: float


def figures_of(master: Array, printed: Array, beyond: Mask, px_per_degree: float) -> FitFigures:
    """All figures of one print. beyond: (H, W), where the master's colours lie outside the condition's range."""
    seen = ciede2000(seen_lab(master, px_per_degree), seen_lab(printed, px_per_degree))
    shadows = smoothed(master[..., 0], TEXTURE_DEG * px_per_degree) < SHADOWS_LSTAR
    kept = TextureKept(master[..., 0], printed[..., 0], TEXTURE_DEG * px_per_degree)
    return FitFigures(
        scielab_mean=float(seen.mean()),
        scielab_p95=float(np.quantile(seen, 0.95)),
        similarity=similarity(master[..., 0], printed[..., 0]),
        texture_shadows=kept.within(shadows),
        texture_beyond=kept.within(beyond & ~shadows),
        hue_shift_deg=hue_shift_deg(master, printed),
        halo_lstar=halo_lstar(master, printed, px_per_degree),
    )


class TextureKept:
    """Local standard deviation of lightness in the print against the master's, never counted above it."""

    def __init__(self, master: Array, printed: Array, sigma_px: float) -> None:
        self.before, self.after = local_deviation(master, sigma_px), local_deviation(printed, sigma_px)

    def within(self, place: Mask) -> float:
        """The share kept there: deviations summed, so that flat parts count for nothing."""
        total = float(self.before[place].sum())
        if total < 1e-6 * max(1, place.sum()) or not place.any():
            return float("nan")
        return float(np.minimum(self.before, self.after)[place].sum()) / total


def hue_shift_deg(master: Array, printed: Array) -> float:
    """Mean turn of hue in IPT, weighted by the master's chroma, over colours that have one before and after."""
    before, after = xyz_to_ipt(lab_to_xyz(master)), xyz_to_ipt(lab_to_xyz(printed))
    chroma = np.hypot(before[..., 1], before[..., 2])
    seen = (chroma > COLOURED) & (np.hypot(after[..., 1], after[..., 2]) > COLOURED / 3)
    if not seen.any():
        return 0.0
    turn = np.arctan2(before[..., 2], before[..., 1]) - np.arctan2(after[..., 2], after[..., 1])
    turn = np.abs((np.degrees(turn) + 180) % 360 - 180)
    return float(np.average(turn[seen], weights=chroma[seen]))


def halo_lstar(master: Array, printed: Array, px_per_degree: float) -> float:
    """Overshoot beside edges, L*, 99 % of them stay below: how far a place comes out lighter (or darker) than
    anything around it should.

    What a colour should become is what the same colour becomes on average over the picture; edges are
    places where that differs by 10 L* within a quarter of a degree.
    """
    usual = _usual(master, printed[..., 0])
    size = 2 * max(1, round(HALO_DEG * px_per_degree)) + 1
    top, bottom = extremes_around(usual, size)
    edges = top - bottom > EDGE_LSTAR
    if not edges.any():
        return 0.0
    over = np.maximum(printed[..., 0] - top, bottom - printed[..., 0])[edges]
    return float(np.quantile(np.maximum(over, 0.0), 0.99))


def _usual(colour: Array, value: Array) -> Array:
    """The mean of `value` (H, W) over pixels of like colour, by a coarse grid over Lab read smoothly."""
    flat = colour.reshape(-1, 3)
    low, high = np.array([0.0, -128, -128]), np.array([100.0, 128, 128])
    place = np.clip((flat - low) / (high - low), 0, 1) * (np.array(HALO_CELLS) - 1)
    first = np.minimum(place.astype(np.int64), np.array(HALO_CELLS) - 2)
    share = place - first
    # lightness is followed by a slope within each cell: only what differs from the master is averaged
    rest = (value - colour[..., 0]).ravel()
    cells = int(np.prod(HALO_CELLS))
    total, count = np.zeros(cells), np.zeros(cells)
    corners: list[tuple[NDArray[np.int64], Array]] = []
    for n in range(8):
        step = np.array([n & 1, n >> 1 & 1, n >> 2])
        weight = np.prod(np.where(step, share, 1 - share), axis=1)
        index = np.asarray(np.ravel_multi_index(tuple((first + step).T), HALO_CELLS), dtype=np.int64)
        corners.append((index, weight))
        total += np.bincount(index, weights=weight * rest, minlength=cells)
        count += np.bincount(index, weights=weight, minlength=cells)
    mean = total / np.maximum(count, 1e-9)
    smooth = sum(weight * mean[index] for index, weight in corners)
    return np.asarray(colour[..., 0] + np.reshape(smooth, value.shape))


def ramps(width: int = 512) -> Array:
    """Ramps that must not show steps, (13, width, 3) Lab: grey, six hues from dark to light, six from grey outwards."""
    t = np.linspace(0, 1, width)
    lines = [np.stack([100 * t, 0 * t, 0 * t], axis=-1)]
    for hue in np.radians(np.arange(6) * 60 + 30):
        chroma = 60 * np.sin(np.pi * t)
        lines.append(np.stack([100 * t, chroma * np.cos(hue), chroma * np.sin(hue)], axis=-1))
        lines.append(np.stack([55 + 0 * t, 90 * t * np.cos(hue), 90 * t * np.sin(hue)], axis=-1))
    return np.stack(lines)


def largest_step(printed: Array) -> float:
    """The largest dE00 between neighbours along printed ramps (R, W, 3)."""
    return float(ciede2000(printed[:, 1:], printed[:, :-1]).max())


def distinct_steps(printed_lightness: Array) -> int:
    """How many neighbours of printed shadow steps (n,), L*, can be told apart: by at least half an L*."""
    return int((np.diff(printed_lightness) >= DISTINCT_LSTAR).sum())


def reversed_tones(printed_lightness: Array) -> bool:
    """Whether a rising ramp comes out falling anywhere by more than rounding."""
    return bool((np.diff(printed_lightness) < -ROUNDING_LSTAR).any())
