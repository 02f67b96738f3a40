"""Local filters on planes of a picture: the part of OpenCV's toolbox that appraising needs.

Planes are (rows, columns) float32; beyond the edge the picture is mirrored.
"""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Flags = NDArray[np.bool_]


def blurred(plane: Floats, sigma_px: float) -> Floats:
    """Under a Gaussian of that standard deviation."""
    return np.asarray(cv2.GaussianBlur(plane, (0, 0), sigma_px, borderType=cv2.BORDER_REFLECT_101), dtype=np.float32)


def slopes(plane: Floats, sigma_px: float) -> tuple[Floats, Floats]:
    """Slope along columns (x) and along rows (y), per pixel, of the plane under a Gaussian."""
    smooth = blurred(plane, sigma_px)
    across = cv2.Scharr(smooth, cv2.CV_32F, 1, 0, scale=1 / 32)
    down = cv2.Scharr(smooth, cv2.CV_32F, 0, 1, scale=1 / 32)
    return np.asarray(across, dtype=np.float32), np.asarray(down, dtype=np.float32)


def highest_around(plane: Floats, reach_px: int) -> Floats:
    """The largest value within a square of 2 reach + 1 pixels about each pixel."""
    return np.asarray(cv2.dilate(plane, np.ones((2 * reach_px + 1, 2 * reach_px + 1), np.uint8)), dtype=np.float32)


def lowest_around(plane: Floats, reach_px: int) -> Floats:
    """The smallest value within a square of 2 reach + 1 pixels about each pixel."""
    return np.asarray(cv2.erode(plane, np.ones((2 * reach_px + 1, 2 * reach_px + 1), np.uint8)), dtype=np.float32)


def standing_out(plane: Floats, step: float) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
    """Rows and columns of pixels more than `step` off the median of themselves and their neighbours, and how far."""
    middle = cv2.medianBlur(plane, 3)
    rows, columns = np.divmod(np.flatnonzero(cv2.absdiff(plane, middle) > step), plane.shape[1])
    return rows, columns, np.asarray(plane[rows, columns] - middle[rows, columns], dtype=np.float32)


def sampled(plane: Floats, across: Floats, down: Floats) -> Floats:
    """The plane at places (x, y) between pixels, by a Lanczos kernel of eight taps; places (m, n), m and n < 32767."""
    seen = cv2.remap(plane, across, down, cv2.INTER_LANCZOS4, borderMode=cv2.BORDER_REFLECT_101)
    return np.asarray(seen, dtype=np.float32)


def reduced(plane: NDArray[Any], factor: int) -> Floats:
    """A `factor` times smaller plane by the mean of squares of pixels; what is left over at the edges is dropped.

    Of floats, or of uint16 with any channels, whose means are rounded to codes.
    """
    rows, columns = plane.shape[0] // factor, plane.shape[1] // factor
    whole = np.ascontiguousarray(plane[: rows * factor, : columns * factor])
    return np.asarray(cv2.resize(whole, (columns, rows), interpolation=cv2.INTER_AREA), dtype=np.float32)


def separate(samples: NDArray[Any]) -> tuple[NDArray[Any], ...]:
    """The channels of (rows, columns, channels) samples, each a plane of its own that is quick to go through."""
    return tuple(np.asarray(plane) for plane in cv2.split(samples)) if samples.shape[2] > 1 else (samples[..., 0],)


def mixed(samples: NDArray[Any], weights: tuple[float, ...]) -> Floats:
    """The weighted sum of the channels of (rows, columns, channels) samples, a few rows at a time."""
    out = np.empty(samples.shape[:2], dtype=np.float32)
    row = np.asarray([weights], dtype=np.float32)
    for first in range(0, len(samples), 8):
        out[first : first + 8] = cv2.transform(samples[first : first + 8].astype(np.float32), row)
    return out


def histogram(plane: NDArray[Any]) -> NDArray[np.int64]:
    """How often each code of a plane (rows, columns) of uint8 or uint16 occurs; at most 2^24 pixels."""
    codes = int(np.iinfo(plane.dtype).max) + 1
    counts = cv2.calcHist([np.ascontiguousarray(plane)], [0], None, [codes], [0, codes])
    return np.rint(counts.ravel()).astype(np.int64)


def block_transforms(blocks: Floats) -> Floats:
    """The orthonormal cosine transform of each 8 x 8 block, (n, 8, 8)."""
    k = np.arange(8, dtype=np.float64)
    basis = np.sqrt(2 / 8) * np.cos((2 * k[None, :] + 1) * k[:, None] * np.pi / 16)
    basis[0] /= np.sqrt(2)
    c = basis.astype(np.float32)
    return np.asarray(c @ blocks @ c.T, dtype=np.float32)


def patches(flags: Flags) -> list[tuple[int, int, int, int, int]]:
    """Connected places of true pixels: row, column, height, width and area of each, in pixels."""
    count, _, stats, _ = cv2.connectedComponentsWithStats(flags.astype(np.uint8), connectivity=8)
    return [
        (int(stats[i, 1]), int(stats[i, 0]), int(stats[i, 3]), int(stats[i, 2]), int(stats[i, 4]))
        for i in range(1, count)
    ]
