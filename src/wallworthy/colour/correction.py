"""The correction: what this eye, paper and light still need, as a pure function of CIELAB.

Defined by this project (DESIGN section 5); the tone curve is PCHIP, Fritsch and Carlson 1980.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import Correction
from wallworthy.colour.pchip import pchip, pchip_pieces

Array = NDArray[np.float64]

MOST_TINT = 60.0
"""Largest shift of a* or b*; far beyond any taste."""
KNOTS = np.array([0.0, 20.0, 50.0, 80.0, 100.0])


def tone_knots(correction: Correction) -> Array:
    """Where L* 0, 20, 50, 80, 100 land, (5,). Raises InputError when they do not rise."""
    lightness, shadow, bend = correction.lightness, correction.shadow, 30 * (correction.contrast - 1)
    landed = np.array([0.0, 20 + shadow + 0.64 * lightness - bend, 50 + lightness, 80 + 0.64 * lightness + bend, 100.0])
    if not np.isfinite([*landed, correction.green_red, correction.blue_yellow, correction.chroma]).all():
        raise InputError(
            "correction_absurd", "A correction must be made of finite numbers.", "Check the numbers.", where="--correct"
        )
    if np.any(np.diff(landed) <= 0):
        raise InputError(
            "correction_not_rising",
            "These corrections together would turn tones upside down: darker places would come out lighter.",
            "Ask for less lightness, contrast or shadow.",
            where="--correct",
        )
    if max(abs(correction.green_red), abs(correction.blue_yellow)) > MOST_TINT or not 0 <= correction.chroma <= 4:
        raise InputError(
            "correction_absurd",
            f"This correction can't be used: chroma must lie between 0 and 4, green_red and blue_yellow within "
            f"{MOST_TINT:g} either way.",
            "Ask for less.",
            where="--correct",
        )
    return landed


def correct(lab: ArrayLike, correction: Correction) -> Array:
    """Apply a correction to CIELAB relative to the master's white (D50).

    lab: (..., 3), L* 0-100. Returns (..., 3). L* below 0 or above 100 moves with the end
    it lies beyond, so white (100, 0, 0) and black (0, 0, 0) stay where they are under any
    correction. Raises InputError when the tone knots do not rise.
    Source: this project's definition, DESIGN section 5.

    >>> correct([50.0, 10.0, 0.0], Correction(lightness=2, chroma=1.1)).round(6).tolist()
    [52.0, 11.0, 0.0]
    """
    lab = np.asarray(lab, dtype=np.float64)
    landed = tone_knots(correction)
    if correction.is_none:
        return lab.copy()
    within = np.clip(lab[..., 0], 0.0, 100.0)
    lightness = pchip(KNOTS, landed, within) + (lab[..., 0] - within)
    t = np.clip(lightness / 100, 0.0, 1.0)
    weight = 4 * t * (1 - t)
    a = correction.chroma * lab[..., 1] + correction.green_red * weight
    b = correction.chroma * lab[..., 2] + correction.blue_yellow * weight
    return np.stack([lightness, a, b], axis=-1)


def correct32(lab: NDArray[np.float32], correction: Correction) -> NDArray[np.float32]:
    """`correct` for planes (3, n) float32, as `colour.float32` has them; within 0.0005 of it, returned anew."""
    landed = tone_knots(correction)
    if correction.is_none:
        return lab.copy()
    pieces = pchip_pieces(KNOTS, landed).astype(np.float32)
    within = np.clip(lab[0], np.float32(0), np.float32(100))
    piece = np.zeros(within.shape, dtype=np.intp)
    for knot in KNOTS[1:-1]:
        piece += within >= np.float32(knot)
    t = within - KNOTS[:-1].astype(np.float32).take(piece)
    rise = pieces[:, 3].take(piece)
    for power in (2, 1, 0):
        rise *= t
        rise += pieces[:, power].take(piece)
    out = np.empty_like(lab)
    np.subtract(lab[0], within, out=out[0])
    out[0] += rise
    share = np.clip(out[0] * np.float32(0.01), np.float32(0), np.float32(1))
    weight = 4 * share * (1 - share)
    tints = (correction.green_red, correction.blue_yellow)
    for plane, tint in zip((1, 2), tints, strict=True):
        np.multiply(lab[plane], np.float32(correction.chroma), out=out[plane])
        out[plane] += weight * np.float32(tint)
    return out
