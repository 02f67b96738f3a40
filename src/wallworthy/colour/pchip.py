"""Monotone piecewise cubic Hermite interpolation, Fritsch and Carlson 1980, slopes after Fritsch and Butland 1984."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def pchip(knots_x: ArrayLike, knots_y: ArrayLike, x: ArrayLike) -> Array:
    """Interpolate so that data that rise stay rising.

    knots_x, knots_y: (n,), n >= 3, knots_x rising strictly. x: any shape; outside the knots
    the end pieces are continued. Returns the shape of x.
    Source: FritschCarlson1980; end slopes are the three-point formula kept monotone.

    >>> pchip([0, 1, 2], [0, 1, 4], 1.0).item()
    1.0
    """
    kx = np.asarray(knots_x, dtype=np.float64)
    ky = np.asarray(knots_y, dtype=np.float64)
    x = np.asarray(x, dtype=np.float64)
    h = np.diff(kx)
    secant = np.diff(ky) / h
    slopes = _slopes(h, secant)

    i = np.clip(np.searchsorted(kx, x, side="right") - 1, 0, len(h) - 1)
    s = (x - kx[i]) / h[i]
    value = (1 + 2 * s) * (1 - s) ** 2 * ky[i] + s**2 * (3 - 2 * s) * ky[i + 1]
    return value + h[i] * s * (1 - s) * ((1 - s) * slopes[i] - s * slopes[i + 1])


def pchip_pieces(knots_x: ArrayLike, knots_y: ArrayLike) -> Array:
    """The same curve as cubics (n - 1, 4): piece i is c0 + c1 t + c2 t^2 + c3 t^3, t = x - knots_x[i].

    >>> pchip_pieces([0, 1, 2], [0, 1, 2])[0].tolist()
    [0.0, 1.0, 0.0, 0.0]
    """
    kx, ky = np.asarray(knots_x, dtype=np.float64), np.asarray(knots_y, dtype=np.float64)
    h = np.diff(kx)
    secant = np.diff(ky) / h
    slopes = _slopes(h, secant)
    low, high = slopes[:-1], slopes[1:]
    return np.stack([ky[:-1], low, (3 * secant - 2 * low - high) / h, (low + high - 2 * secant) / h**2], axis=-1)


def _slopes(h: Array, secant: Array) -> Array:
    slopes = np.zeros(len(h) + 1)
    left, right = secant[:-1], secant[1:]
    w_left, w_right = 2 * h[1:] + h[:-1], h[1:] + 2 * h[:-1]
    same = left * right > 0
    harmonic = (w_left + w_right)[same] / (w_left[same] / left[same] + w_right[same] / right[same])
    slopes[1:-1][same] = harmonic
    slopes[0] = _end_slope(h[0], h[1], secant[0], secant[1])
    slopes[-1] = _end_slope(h[-1], h[-2], secant[-1], secant[-2])
    return slopes


def _end_slope(h0: float, h1: float, d0: float, d1: float) -> float:
    slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    if np.sign(slope) != np.sign(d0):
        return 0.0
    if np.sign(d0) != np.sign(d1) and abs(slope) > 3 * abs(d0):
        return 3 * d0
    return float(slope)
