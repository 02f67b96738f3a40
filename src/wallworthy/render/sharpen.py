"""Output sharpening: give back what ink and paper blur away, and no more.

Ink on paper is taken as a Gaussian blur whose transfer falls to one half at PAPER_MTF50_PER_MM.
One step of van Cittert's iteration (vanCittert1931) undoes most of it: the picture plus what the
blur would remove. Its gain stays below 2 by construction and its edges overshoot little.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.special import ive

from wallworthy.base.units import MM_PER_INCH
from wallworthy.colour.lab import lightness_from_y, y_from_lightness
from wallworthy.colour.working import WORKING_TO_XYZ
from wallworthy.raster.scale import resampled_line

Floats = NDArray[np.float32]
Doubles = NDArray[np.float64]

PAPER_MTF50_PER_MM: Final = 6.0
"""Cycles per mm at which gloss paper keeps half the contrast; a generic value, from trials."""

INTERPOLATION_BLUR_PX: Final = 0.226
"""Gaussian, in source pixels, that loses as much at a quarter cycle per pixel as the cubic (0.939)."""

LARGEST_COMPENSATED: Final = 8.0
"""Beyond eightfold enlargement the picture is soft for want of pixels, which no sharpening mends."""

LARGEST_OVERSHOOT_PCT: Final = 10.0
QUIET: Final = 0.004
"""Differences of this size (0.4 L*) get half of the sharpening, smaller ones next to none: noise stays noise."""

LUMINANCE: Final = tuple(float(value) for value in WORKING_TO_XYZ[1])


@dataclass(frozen=True, slots=True)
class Sharpening:
    """A separable blur (`taps`, symmetric, sum 1) whose loss is added back `amount` times."""

    taps: tuple[float, ...]
    amount: float
    gain: float
    """Largest amplification of any spatial frequency."""
    overshoot_pct: float
    """Overshoot at an ideal edge as seen on paper, in per cent of the step in L*."""

    @property
    def halo(self) -> int:
        return len(self.taps) // 2


NO_TAPS: Final = (1.0,)


def plan_sharpening(ppi: float, enlargement: float, *, auto: bool) -> Sharpening:
    """The sharpening for a print at `ppi`, `enlargement` output pixels per source pixel.

    Full strength unless an ideal edge would overshoot on paper by more than 10 per cent;
    then as much as keeps to that. Without `auto`: none, with the overshoot that resampling
    alone leaves. Source: vanCittert1931.
    """
    paper_px = paper_sigma_mm() * ppi / MM_PER_INCH
    if not auto:
        return Sharpening(NO_TAPS, 0.0, 1.0, round(overshoot_on_paper(NO_TAPS, 0.0, paper_px, enlargement), 3))
    interpolation_px = INTERPOLATION_BLUR_PX * min(enlargement, LARGEST_COMPENSATED) if enlargement > 1 else 0.0
    blur_px = math.hypot(paper_px, interpolation_px)
    taps = blur_taps(blur_px)
    amount = 1.0
    for _ in range(40):
        overshoot = overshoot_on_paper(taps, amount, paper_px, enlargement)
        if overshoot <= LARGEST_OVERSHOOT_PCT:
            break
        amount -= 0.025
    amount = max(0.0, amount)
    overshoot = overshoot_on_paper(taps, amount, paper_px, enlargement)
    return Sharpening(taps, amount, round(gain_of(taps, amount), 4), round(overshoot, 3))


def paper_sigma_mm() -> float:
    """The paper's Gaussian blur: transfer exp(-2 pi^2 s^2 f^2) is one half at the MTF50.

    >>> round(paper_sigma_mm(), 5)
    0.03123
    """
    return math.sqrt(math.log(2) / 2) / (math.pi * PAPER_MTF50_PER_MM)


def blur_taps(sigma_px: float) -> tuple[float, ...]:
    """The discrete Gaussian of that standard deviation: symmetric, sum 1, no tap below zero.

    Without negative taps the whitest place can't come out darker, so bare paper stays bare beside
    an edge. Its transfer exp(-s^2 (1 - cos w)) never lies below the paper's exp(-s^2 w^2 / 2), so
    nothing is raised by more than the paper takes. Source: Lindeberg1990.

    >>> [round(tap, 4) for tap in blur_taps(0.443)[2:5]]
    [0.081, 0.8297, 0.081]
    """
    reach = max(2, math.ceil(3 * sigma_px) + 1)
    taps = ive(np.abs(np.arange(-reach, reach + 1)), sigma_px**2)
    return tuple(float(tap) for tap in taps / taps.sum())


def gain_of(taps: tuple[float, ...], amount: float) -> float:
    """The largest gain over all spatial frequencies of the plane."""
    offsets = np.arange(len(taps)) - len(taps) // 2
    frequency = np.linspace(0, 0.5, 129)
    transfer = np.cos(2 * np.pi * frequency[:, None] * offsets) @ np.asarray(taps)
    return float(np.max(1 + amount * (1 - np.outer(transfer, transfer))))


def sharpen_window(window: Floats, sharpening: Sharpening) -> Floats:
    """Sharpen a window (rows + 2 halo, width, 3) of working values 0-1; returns (rows, width, 3).

    The detail of the luminance-like channel is added alike to all three, so hue does not move,
    and never beyond 0 or 1 in any of them. Every pixel's result depends on its own
    neighbourhood alone, so strips meet without a seam. Source: vanCittert1931.
    """
    halo = sharpening.halo
    if sharpening.amount == 0.0:
        return window[halo : window.shape[0] - halo]
    core = window[halo : window.shape[0] - halo]
    red, green, blue = window[..., 0], window[..., 1], window[..., 2]
    tone = red * np.float32(LUMINANCE[0])
    tone += green * np.float32(LUMINANCE[1])
    tone += blue * np.float32(LUMINANCE[2])
    detail = tone[halo : tone.shape[0] - halo] - _blurred(tone, sharpening.taps)
    _spare_small(detail)
    detail *= np.float32(sharpening.amount)
    highest = np.maximum(np.maximum(core[..., 0], core[..., 1]), core[..., 2])
    lowest = np.minimum(np.minimum(core[..., 0], core[..., 1]), core[..., 2])
    np.minimum(detail, np.float32(1) - highest, out=detail)
    np.maximum(detail, -lowest, out=detail)
    return np.add(core, detail[..., None], dtype=np.float32)


def _blurred(tone: Floats, taps: tuple[float, ...]) -> Floats:
    """Separable blur of (rows + 2 halo, width); returns (rows, width); edge columns repeated."""
    halo = len(taps) // 2
    rows, width = tone.shape[0] - 2 * halo, tone.shape[1]
    down = tone[halo : halo + rows] * np.float32(taps[halo])
    for k in range(1, halo + 1):
        pair = tone[halo - k : halo - k + rows] + tone[halo + k : halo + k + rows]
        pair *= np.float32(taps[halo + k])
        down += pair
    padded = np.pad(down, ((0, 0), (halo, halo)), mode="edge")
    out = padded[:, halo : halo + width] * np.float32(taps[halo])
    for k in range(1, halo + 1):
        pair = padded[:, halo - k : halo - k + width] + padded[:, halo + k : halo + k + width]
        pair *= np.float32(taps[halo + k])
        out += pair
    return out


def _spare_small(detail: Any) -> None:
    """Scale detail d by d^2 / (d^2 + QUIET^2): noise is left alone, edges keep their whole share."""
    square = detail * detail
    detail *= square
    square += np.float32(QUIET**2)
    detail /= square


def overshoot_on_paper(taps: tuple[float, ...], amount: float, paper_px: float, enlargement: float) -> float:
    """How far an ideal edge runs past its ends on paper, per cent of the step in L*.

    A step from L* 30 to 70 that falls between two source pixels or through one, resampled by
    the real kernel, sharpened by the real code, printed as square pixels and blurred by the paper in
    linear light; the larger of the bright and the dark side.
    """
    low, high, fine = 0.3, 0.7, 16
    enlargement = min(max(enlargement, 0.02), 32.0)  # further out nothing changes
    count = 64 if enlargement >= 1 else math.ceil(64 / enlargement)
    worst = 0.0
    for share in (0.0, 0.5):
        step = np.where(np.arange(count) < count // 2, low, high).astype(np.float64)
        light = (1 - share) * y_from_lightness(low * 100) + share * y_from_lightness(high * 100)
        step[count // 2 - 1] = lightness_from_y(light) / 100
        line = resampled_line(step, max(16, round(count * enlargement))).astype(np.float32)
        flat = Sharpening(taps, amount, 0.0, 0.0)
        window = np.repeat(line[None, :, None], 3, axis=2).repeat(1 + 2 * flat.halo, axis=0)
        printed = sharpen_window(window, flat)[0, :, 0].astype(np.float64)
        on_paper = gaussian_filter1d(np.repeat(y_from_lightness(printed * 100), fine), paper_px * fine, mode="nearest")
        seen = lightness_from_y(on_paper) / 100
        worst = max(worst, float(seen.max() - high), float(low - seen.min()))
    return 100 * worst / (high - low)
