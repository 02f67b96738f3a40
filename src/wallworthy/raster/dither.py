"""From device values to whole codes: dither to 8 bits by a fixed blue-noise mask, rounding to 16.

The mask comes from the void-and-cluster method (`raster.mask`, Ulichney1993); a pixel's threshold depends on its
place in the picture alone.
"""

from __future__ import annotations

import functools
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.raster.mask import MASK_EDGE, mask_ranks

Floats = NDArray[np.float32]

SPARED: Final = 1 / 64
"""Values this close to a code, in codes, become that code whatever the mask says."""


@functools.lru_cache(maxsize=1)
def threshold_mask() -> Floats:
    """The mask, (64, 64) float32: each of 4096 thresholds once, strictly between 0 and 1. Source: Ulichney1993."""
    return ((mask_ranks() + 0.5) / MASK_EDGE**2).astype(np.float32)


@functools.lru_cache(maxsize=4)
def _thresholds(width: int, channels: int) -> Floats:
    """Offsets to add before cutting off, (64, width, channels): the mask, shifted for each channel."""
    mask = threshold_mask()
    planes = [np.roll(mask, (23 * channel, 37 * channel), axis=(0, 1)) for channel in range(channels)]
    wide = np.take(np.stack(planes, axis=-1), np.arange(width) % MASK_EDGE, axis=1)
    return np.float32(SPARED) + np.float32(1 - 2 * SPARED) * wide


def to_8_bits(device: Floats, first_row: int) -> NDArray[np.uint8]:
    """Device values 0-1 (rows, width, channels) to 8-bit codes, dithered; `first_row` is the strip's place.

    A value between two codes takes each in proportion over any 64 x 64 pixels, to within 1/64 code;
    a value within 1/64 of a code becomes that code, so bare paper stays bare. Source: Ulichney1993.

    >>> to_8_bits(np.full((1, 2, 1), 0.00005, np.float32), 0).ravel().tolist()
    [0, 0]
    """
    rows, width, channels = device.shape
    thresholds = _thresholds(width, channels)
    codes = device * np.float32(255)
    first = 0
    while first < rows:
        start = (first_row + first) % MASK_EDGE
        count = min(MASK_EDGE - start, rows - first)
        codes[first : first + count] += thresholds[start : start + count]
        first += count
    np.clip(codes, 0, 255, out=codes)
    return codes.astype(np.uint8)


def to_16_bits(device: Floats) -> NDArray[np.uint16]:
    """Device values 0-1 to the nearest 16-bit codes."""
    codes = device * np.float32(65535)
    np.rint(codes, out=codes)
    np.clip(codes, 0, 65535, out=codes)
    return codes.astype(np.uint16)


def to_bits(device: Floats, bits: int, first_row: int) -> NDArray[Any]:
    """Whole codes of 8 (dithered) or 16 bits (rounded)."""
    return to_8_bits(device, first_row) if bits == 8 else to_16_bits(device)
