"""Tones: what is clipped, posterised or combed, what 8 bits can't hold, and whether the greys lean."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.raster.filters import histogram

Floats = NDArray[np.float32]
Array = NDArray[np.float64]
Counts = NDArray[np.int64]

FLOAT_BINS: Final = 4096
EMPTY_SHARE: Final = 0.08
"""More than this share of codes left empty where many pixels were expected: gaps."""

EXPECTED: Final = 24.0
"""Pixels expected at a code before its absence means anything."""


def counts_of(planes: tuple[NDArray[Any], ...]) -> Counts:
    """How often each code occurs in each channel, (channels, 256 or 65536); floats in FLOAT_BINS steps of 0-1.

    planes: the channels of a strip, (rows, columns) each.
    """
    if planes[0].dtype.kind != "f":
        return np.stack([histogram(plane) for plane in planes])
    steps = [np.clip(plane * (FLOAT_BINS - 1) + 0.5, 0, FLOAT_BINS - 1).astype(np.uint16) for plane in planes]
    return np.stack([np.bincount(codes.ravel(), minlength=FLOAT_BINS) for codes in steps])


@dataclass(frozen=True, slots=True)
class Ends:
    """Share of pixels at the top and the bottom of each channel, per cent, in the master's own samples."""

    high_pct: tuple[float, ...]
    low_pct: tuple[float, ...]


def ends_of(counts: Counts, floating: bool = False) -> Ends:
    """What stands at the very ends of each channel's scale.

    In 8 bits one code from the end counts too when the end itself is crowded (lossy files ring there).
    """
    total = counts.sum(axis=1)
    near = max(1, counts.shape[1] // 1024) if floating or counts.shape[1] > 256 else 1
    high, low = counts[:, -near:].sum(axis=1), counts[:, :near].sum(axis=1)
    percent = 100 / np.maximum(total, 1)
    return Ends(tuple(float(v) for v in high * percent), tuple(float(v) for v in low * percent))


@dataclass(frozen=True, slots=True)
class Gaps:
    """Empty codes within the used range of the worst channel: their share, and the usual distance of used codes."""

    channel: int
    empty_share: float
    spacing_codes: float
    levels: int


def gaps_of(counts: Counts) -> Gaps | None:
    """Codes that should occur and don't: posterised or stretched in few bits. None when all is as it should be.

    Each channel is looked at in at most 256 steps, between its 1st and 99th percentile.
    """
    found = [gaps for i in range(counts.shape[0]) if (gaps := _gaps(counts[i], i)) is not None]
    return max(found, key=lambda gaps: gaps.empty_share, default=None)


def _gaps(counts: Counts, channel: int) -> Gaps | None:
    coarse = counts.reshape(256, -1).sum(axis=1) if counts.size >= 256 else counts
    running = np.cumsum(coarse)
    total = int(running[-1])
    low, high = (int(np.searchsorted(running, total * share)) for share in (0.01, 0.99))
    low, high = max(low, 1), min(high, 254)
    if high - low < 24 or total < 20_000:
        return None
    span = coarse[low : high + 1]
    reach = np.convolve(coarse, np.ones(17) / 17, mode="same")[low : high + 1]
    expected = reach > EXPECTED
    if expected.sum() < 24:
        return None
    # far fewer than the neighbourhood suggests: empty for all that matters
    empty = expected & (span < 0.02 * reach)
    share = float(empty.sum() / expected.sum())
    if share < EMPTY_SHARE:
        return None
    # empty codes in one run are a part of the scale the picture does not use; gaps lie between used codes
    used = np.flatnonzero(~empty)
    between = np.diff(used)
    scattered = float((between > 1).sum())
    if scattered < 4 or scattered / max(1, len(between)) < 0.04:
        return None
    return Gaps(channel, share, float(np.mean(between)), len(used))


def wide_gamut_ratio(primaries_xy: Array) -> float:
    """Area of a space's primaries (3, 2) in u', v', over that of sRGB. Source: CIE15.

    >>> round(wide_gamut_ratio(np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])), 6)
    1.0
    """
    return _area(primaries_xy) / _area(np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]]))


def _area(xy: Array) -> float:
    share = -2 * xy[:, 0] + 12 * xy[:, 1] + 3
    u, v = 4 * xy[:, 0] / share, 9 * xy[:, 1] / share
    return float(abs((u[1] - u[0]) * (v[2] - v[0]) - (u[2] - u[0]) * (v[1] - v[0])) / 2)


WIDE: Final = 1.6
"""From this ratio on, 8 bits step visibly in smooth skies (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Cast:
    """Which way the near-greys lean: mean a*, b*, the share of the picture they make up, and how alike they lean."""

    a: float
    b: float
    share: float
    agreement: float

    @property
    def chroma(self) -> float:
        return math.hypot(self.a, self.b)


def cast_of(lab: Floats) -> Cast | None:
    """The lean of what may be grey: Lab (n, 3), L* 25 to 90 and chroma below 14; None when there is little of it.

    Only when greys of several tones lean the same way; it stays a question, since the light may be meant.
    """
    tone, chroma = lab[:, 0], np.hypot(lab[:, 1], lab[:, 2])
    grey = lab[(tone > 25) & (tone < 90) & (chroma < 14)]
    if len(grey) < max(200, 0.05 * len(lab)):
        return None
    parts = [grey[(grey[:, 0] >= low) & (grey[:, 0] < low + 13)] for low in (25, 38, 51, 64, 77)]
    leans = np.array([np.median(part[:, 1:], axis=0) for part in parts if len(part) > 0.04 * len(grey)])
    if len(leans) < 3:
        return None
    mean = leans.mean(axis=0)
    length = float(np.hypot(*mean))
    agreement = length / max(float(np.hypot(*leans.T).mean()), 1e-6)
    return Cast(float(mean[0]), float(mean[1]), len(grey) / len(lab), agreement)
