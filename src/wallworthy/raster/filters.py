"""Local filters on planes of a picture: the part of OpenCV's toolbox that appraising and proofing need.

Planes are (rows, columns) float32; beyond the edge the picture is mirrored.
"""

from __future__ import annotations

from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Doubles = NDArray[np.float64]
Flags = NDArray[np.bool_]

SQUARE: Final = np.ones((3, 3), dtype=np.uint8)


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

    Of floats, or of uint16 with any channels, whose means are rounded to codes. Of fewer rows or columns than make
    one pixel, such as a picture's last few rows, nothing is left.
    """
    rows, columns = plane.shape[0] // factor, plane.shape[1] // factor
    if not (rows and columns):
        return np.zeros((rows, columns, *plane.shape[2:]), np.float32)
    whole = np.ascontiguousarray(plane[: rows * factor, : columns * factor])
    return np.asarray(cv2.resize(whole, (columns, rows), interpolation=cv2.INTER_AREA), dtype=np.float32)


def separate(samples: NDArray[Any]) -> tuple[NDArray[Any], ...]:
    """The channels of (rows, columns, channels) samples, each a plane of its own that is quick to go through."""
    return tuple(np.asarray(plane) for plane in cv2.split(samples)) if samples.shape[2] > 1 else (samples[..., 0],)


def merged(planes: Floats) -> Floats:
    """Planes (channels, rows, columns) as (rows, columns, channels)."""
    return np.asarray(cv2.merge(list(planes)), dtype=np.float32)


def looked_up(table: Floats, codes: NDArray[Any]) -> Floats:
    """A table's entries for codes (..., channels), uint8 or uint16: one (n,) for all channels, or (n, channels)."""
    picture = codes if codes.ndim == 3 else codes.reshape(1, -1, codes.shape[-1])
    return np.asarray(cv2.LUT(picture, table[None]), dtype=np.float32).reshape(codes.shape)


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


def widened(flags: Flags) -> Flags:
    """True pixels with all their neighbours."""
    return np.asarray(cv2.dilate(flags.astype(np.uint8), SQUARE), dtype=bool)


def bridged(flags: Flags) -> Flags:
    """True pixels with the gaps of one pixel between them filled, also at the rim."""
    padded = np.pad(flags.astype(np.uint8), 1, mode="edge")
    return np.asarray(cv2.morphologyEx(padded, cv2.MORPH_CLOSE, SQUARE)[1:-1, 1:-1], dtype=bool)


def numbered(flags: Flags) -> NDArray[np.int32]:
    """Connected places of true pixels, numbered from 1; 0 elsewhere."""
    return np.asarray(cv2.connectedComponents(flags.astype(np.uint8), connectivity=8)[1], dtype=np.int32)


def mean_around(plane: Doubles) -> Doubles:
    """The mean of each pixel and its neighbours; beyond the edge the edge pixel is repeated."""
    return np.asarray(cv2.blur(plane, (3, 3), borderType=cv2.BORDER_REPLICATE), dtype=np.float64)


def separable(plane: Doubles, kernel: Doubles, *, edge_repeats: bool = False) -> Doubles:
    """Under the same odd kernel down and across. Beyond the edge the picture is mirrored, edge pixels included, or
    the edge pixel is repeated."""
    border = cv2.BORDER_REPLICATE if edge_repeats else cv2.BORDER_REFLECT
    return np.asarray(cv2.sepFilter2D(plane, cv2.CV_64F, kernel, kernel, borderType=border), dtype=np.float64)


def summed_under(plane: NDArray[np.floating[Any]], kernel: Doubles) -> Floats:
    """Under the same odd kernel down and across, in single precision; beyond the edge there is nothing."""
    constant = cv2.BORDER_CONSTANT
    return np.asarray(cv2.sepFilter2D(plane, cv2.CV_32F, kernel, kernel, borderType=constant), dtype=np.float32)


def smoothed(plane: Doubles, sigma_px: float) -> Doubles:
    """Under a Gaussian of that standard deviation, cut at four of them, in double precision; mirrored at the edge."""
    steps = np.arange(-int(4 * sigma_px + 0.5), int(4 * sigma_px + 0.5) + 1)
    kernel = np.exp(-0.5 * (steps / sigma_px) ** 2)
    return separable(plane, kernel / kernel.sum())


def extremes_around(plane: Doubles, size_px: int) -> tuple[Doubles, Doubles]:
    """The largest and the smallest value within a square of that odd edge about each pixel of the picture."""
    square = np.ones((size_px, size_px), np.uint8)
    around = cv2.dilate(plane, square), cv2.erode(plane, square)
    return np.asarray(around[0], dtype=np.float64), np.asarray(around[1], dtype=np.float64)
