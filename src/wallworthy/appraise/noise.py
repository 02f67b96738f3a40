"""Noise by tone, and how visible it is in a print.

Measured where the picture is smooth: 8 x 8 blocks with their plane removed. In tones that are textured
everywhere nothing is told.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from wallworthy.appraise.eye import Seeing, cubic_transfer
from wallworthy.base.units import MM_PER_INCH
from wallworthy.colour.barten1999 import contrast_sensitivity

Floats = NDArray[np.float32]
Array = NDArray[np.float64]

SIDE: Final = 8
FREEDOM: Final = SIDE * SIDE - 3
"""Degrees of freedom left in a block once its plane is removed."""

BIN_LSTAR: Final = 10.0
FEWEST_BLOCKS: Final = 40
ALIKE: Final = 1.25
"""Estimates from different shares of the blocks that differ by less than this tell of noise alone."""

UNEVEN: Final = 3.0
"""One tone's noise is at most so many times what another's lets expect."""

NOT_FLAT: Final = 1e-4

NEAR_ENDS: Final = 0.004
"""Blocks that touch black or white by less than this are cut off there and tell nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class Blocks:
    """Blocks of a picture: mean tone 0-1, variance of tone and of each channel once the plane is removed, (n,) and
    (n, 3), and the product of neighbours, (n,), which tells how fine the noise is."""

    tone: Array
    variance: Array
    channels: Array
    neighbours: Array


def blocks_of(tone: Floats, working: NDArray[np.uint16], step: int) -> Blocks:
    """Every `step`-th block of a strip: tone (rows, columns) 0-1, working (rows, columns, 3)."""
    rows, columns = tone.shape[0] // SIDE, tone.shape[1] // SIDE
    if rows == 0 or columns == 0:
        return Blocks(np.zeros(0), np.zeros(0), np.zeros((0, 3)), np.zeros(0))
    index = np.arange(0, rows * columns, max(1, step))
    r, c = index // columns * SIDE, index % columns * SIDE
    block = sliding_window_view(tone, (SIDE, SIDE))[r, c]
    inside = (block.min(axis=(1, 2)) > NEAR_ENDS) & (block.max(axis=(1, 2)) < 1 - NEAR_ENDS)
    block, r, c = block[inside], r[inside], c[inside]
    rest = without_plane(block)
    # (n, 3, 8, 8) of uint16
    found = sliding_window_view(working, (SIDE, SIDE), axis=(0, 1))[r, c]
    colours = np.moveaxis(found.astype(np.float32) / np.float32(65535), 1, -1)
    each = np.stack([(without_plane(colours[..., i]) ** 2).sum(axis=(1, 2)) for i in range(3)], axis=1) / FREEDOM
    beside = (rest[:, :, 1:] * rest[:, :, :-1]).mean(axis=(1, 2)) + (rest[:, 1:] * rest[:, :-1]).mean(axis=(1, 2))
    variance = (rest * rest).sum(axis=(1, 2)) / FREEDOM
    return Blocks(*(np.asarray(a, dtype=np.float64) for a in (block.mean(axis=(1, 2)), variance, each, beside / 2)))


def without_plane(blocks: Floats) -> Floats:
    """Blocks (n, 8, 8) less their mean and slope."""
    ramp = (np.arange(SIDE, dtype=np.float32) - np.float32(3.5)) / np.float32(math.sqrt(SIDE * 42.0))
    rest = blocks - blocks.mean(axis=(1, 2), keepdims=True)
    across = np.einsum("nij,j->n", rest, ramp)
    down = np.einsum("nij,i->n", rest, ramp)
    rest -= across[:, None, None] * ramp
    rest -= down[:, None, None] * ramp[:, None]
    return rest


def sigma_of(variances: Array) -> float | None:
    """The noise's standard deviation from variances of blocks, some of them textured; None when all seem to be.

    Quantiles are compared with those of pure noise (chi-squared), so that texture in the upper part does no harm.
    """
    if len(variances) < FEWEST_BLOCKS:
        return None
    half, quarter, least = (
        math.sqrt(float(np.quantile(variances, share)) / quantile_of_noise(share)) for share in (0.5, 0.25, 0.05)
    )
    if least < 1e-5:
        return half if half < 1e-5 else (least if quarter < 1e-5 else None)
    if half < ALIKE * least:
        return half
    if quarter < ALIKE * least:
        return quarter
    lowest = math.sqrt(float(np.quantile(variances, 0.02)) / quantile_of_noise(0.02))
    return least if least < 1.1 * lowest and len(variances) > 10 * FEWEST_BLOCKS else None


@cache
def quantile_of_noise(share: float) -> float:
    """Variances of blocks of pure noise over their mean: chi-squared by FREEDOM, within 0.03 %.

    Source: WilsonHilferty1931.
    """
    # the library's own takes longer to load than a picture to look at
    spread = 2 / (9 * FREEDOM)
    return (1 - spread + NormalDist().inv_cdf(share) * math.sqrt(spread)) ** 3


@dataclass(frozen=True, slots=True)
class ToneNoise:
    """Noise at one tone: L* at the middle, standard deviations in L* and per working channel times 100.

    fineness: correlation of neighbouring pixels, 0 for white noise; share: of the picture's blocks with this tone.
    """

    l_lstar: float
    sigma_lstar: float
    channels: tuple[float, float, float]
    neighbours: float
    share: float


def noise_by_tone(blocks: Blocks) -> tuple[ToneNoise, ...]:
    """Noise for every ten L* in which enough of the picture is smooth."""
    found: list[ToneNoise] = []
    edges = np.arange(0, 100.1, BIN_LSTAR) / 100
    where = np.digitize(blocks.tone, edges) - 1
    groups = [np.flatnonzero(where == number) for number in range(len(edges) - 1)]
    groups = [mine for mine in groups if len(mine) >= FEWEST_BLOCKS]
    most = _most_noise([100 * float(np.median(blocks.tone[mine])) for mine in groups], blocks, groups)
    for mine, limit in zip(groups, most, strict=True):
        variances = blocks.variance[mine]
        sigma = sigma_of(variances)
        if sigma is None or sigma > limit:
            continue
        calm = mine[variances <= max(sigma**2 * quantile_of_noise(0.9), 1e-12)]
        each = [math.sqrt(float(np.median(blocks.channels[calm, i]))) * 100 for i in range(3)]
        power = float(blocks.variance[calm].mean()) * FREEDOM / SIDE**2
        beside = float(blocks.neighbours[calm].mean()) / power if power > 1e-12 else 0.0
        found.append(
            ToneNoise(
                l_lstar=float(np.median(blocks.tone[mine])) * 100,
                sigma_lstar=100 * sigma,
                channels=(each[0], each[1], each[2]),
                neighbours=min(max(beside, 0.0), 0.95),
                share=len(mine) / max(1, len(blocks.tone)),
            )
        )
    return tuple(found)


def _most_noise(tones_lstar: list[float], blocks: Blocks, groups: list[NDArray[np.intp]]) -> list[float]:
    """The most that noise can be at each tone, by what the calmer blocks of the others hold: beyond, it is texture.

    Shot noise is much alike in L* at all tones; a sensor's own falls as the square of L* + 16 rises.
    """
    calmer = [math.sqrt(float(np.quantile(blocks.variance[mine], 0.25)) / quantile_of_noise(0.25)) for mine in groups]
    # where compression or a drawing has left nothing at all, noise was not there to be seen
    known = [(tone, sigma) for tone, sigma in zip(tones_lstar, calmer, strict=True) if sigma > NOT_FLAT]
    return [
        min((UNEVEN * sigma * max(1.0, (tone + 16) / (own + 16)) ** 2 for tone, sigma in known), default=math.inf)
        for own in tones_lstar
    ]


def overall_sigma(tones: tuple[ToneNoise, ...]) -> float:
    """The noise as one number, on the tone's scale 0-1: the mean over tones by their share."""
    total = sum(tone.share for tone in tones)
    return sum(tone.sigma_lstar * tone.share for tone in tones) / total / 100 if total > 0 else 0.0


FREQUENCIES: Final = np.geomspace(0.5, 40, 40)


def visibility_of(noise: ToneNoise, ppi: float, distance_mm: float, model: Seeing) -> float:
    """How visible a tone's noise is in the print, in JND; below 1 it is not seen.

    The square root of the largest ratio, over octaves, of the noise's contrast to the eye's threshold.
    Source: Barten1999 for the threshold; the octave rule is this project's.
    """
    if noise.sigma_lstar <= 0:
        return 0.0
    # contrast of luminance: d ln Y / d L* of CIELAB
    slope = 3 / (noise.l_lstar + 16) if noise.l_lstar > 8 else 1 / max(noise.l_lstar, 2.0)
    contrast = math.sqrt(2) * noise.sigma_lstar * slope
    per_mm = FREQUENCIES / (distance_mm * math.tan(math.radians(1)))
    per_px = per_mm * MM_PER_INCH / ppi
    share = octave_shares(per_px, noise.neighbours)
    paper = np.exp2(-((per_mm / model.paper_mtf50_per_mm) ** 2))
    held = paper * (cubic_transfer(per_px) if ppi < model.output_ppi else 1.0)
    held = held * (per_mm < model.output_ppi / MM_PER_INCH / 2)
    # the print's mean is what the eye is adapted to
    over = contrast * np.sqrt(share) * held * contrast_sensitivity(FREQUENCIES, model.mean_cd_m2, 12.0, model.k)
    return math.sqrt(float(over.max()))


def octave_shares(cycles_per_px: Array, neighbours: float) -> Array:
    """The share of the noise's variance in the octave about each frequency; `neighbours`: their correlation.

    >>> octave_shares(np.array([0.25]), 0.0).round(3).tolist()
    [0.295]
    """
    low, high = cycles_per_px / math.sqrt(2), np.minimum(cycles_per_px * math.sqrt(2), 0.5)
    if neighbours < 0.02:
        ring = np.pi * np.maximum(high**2 - low**2, 0.0)
        return np.minimum(ring, 1.0)
    # noise that was smoothed by a Gaussian: neighbours correlate by exp(-1 / 4 s^2)
    spread = 4 * np.pi**2 / (-4 * math.log(neighbours))
    return np.where(high > low, np.exp(-spread * low**2) - np.exp(-spread * high**2), 0.0)
