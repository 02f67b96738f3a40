"""Smoothing spline through scattered points, its smoothing chosen by leave-one-out cross-validation.

The polyharmonic spline of order 2 in 3 or more dimensions has the kernel r^3 with a linear trend
(Duchon1977); its leave-one-out errors follow from one eigendecomposition (CravenWahba1979).
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SMOOTHING: Final = 10.0 ** np.arange(-6.0, 1.76, 0.25)
CHUNK: Final = 256
THREADS: Final = 2


@dataclass(frozen=True, slots=True, eq=False)
class Spline:
    """value(x) = kernel(x, centres) @ weights + [1, x] @ trend, for (N, D) points and K values each."""

    centres: Array = field(repr=False)
    weights: Array = field(repr=False)
    trend: Array = field(repr=False)
    smoothing: Array
    """(K,) the factor chosen for each value."""
    leave_one_out: Array = field(repr=False)
    """(N, K) value minus the prediction made without that point."""

    def __call__(self, x: Array) -> Array:
        """Values (M, K) at points (M, D)."""
        pieces = [x[i : i + CHUNK] for i in range(0, len(x), CHUNK)]
        if len(pieces) <= 1:
            return self._piece(x)
        with ThreadPoolExecutor(THREADS) as pool:
            return np.concatenate(list(pool.map(self._piece, pieces)))

    def _piece(self, x: Array) -> Array:
        across = np.ascontiguousarray(self.weights.T)
        return np.einsum("nm,km->nk", _kernel(x, self.centres), across) + _trend(x) @ self.trend


def fit_spline(x: Array, y: Array, weight: Array | None = None) -> Spline:
    """Smoothing spline for values y (N, K) at points x (N, D), N > D + 2, all points different.

    weight: (N,) number of readings behind each point; a point of weight 4 is believed twice as closely.
    """
    root = np.ones(len(x)) if weight is None else np.sqrt(weight)
    flat = _trend(x)
    basis, _ = np.linalg.qr(flat * root[:, None])
    kernel = _kernel(x, x)
    values, modes = _modes(root[:, None] * kernel * root[None, :], basis)
    seen = modes.T @ (y * root[:, None])

    best_error = np.full(y.shape[1], np.inf)
    weights, errors, chosen = np.zeros_like(y), np.zeros_like(y), np.zeros(y.shape[1])
    squares = modes**2
    for factor in SMOOTHING:
        shrink = 1.0 / (values + factor)
        coefficients = modes @ (shrink[:, None] * seen)
        left_out = coefficients / (squares @ shrink)[:, None]
        score = np.mean(left_out**2, axis=0)
        better = score < best_error * (1 - 1e-6)
        best_error = np.where(better, score, best_error)
        chosen = np.where(better, factor, chosen)
        weights[:, better] = coefficients[:, better]
        errors[:, better] = left_out[:, better]
    weights *= root[:, None]
    errors /= root[:, None]
    smooth = y - weights * chosen / root[:, None] ** 2
    trend = np.asarray(np.linalg.lstsq(flat, smooth - kernel @ weights, rcond=None)[0], dtype=np.float64)
    return Spline(x, weights, trend, chosen, errors)


def _modes(kernel: Array, basis: Array) -> tuple[Array, Array]:
    """Eigenvalues (N - T,) and eigenvectors (N, N - T) of the kernel among what the trend (N, T) can't say."""
    crossed = basis @ (basis.T @ kernel)
    free = kernel - crossed - crossed.T + (crossed @ basis) @ basis.T
    # the trend's own directions are lifted above all others, to be cut off at the end
    free += (2 * np.abs(free).sum(axis=1).max()) * (basis @ basis.T)
    values, vectors = np.linalg.eigh(free)
    count = len(values) - basis.shape[1]
    return np.maximum(values[:count], 0.0), vectors[:, :count]


def _trend(x: Array) -> Array:
    return np.concatenate([np.ones((len(x), 1)), x], axis=1)


def _kernel(x: Array, centres: Array) -> Array:
    """Cubed distances (N, M), added up axis by axis: no threads of linear algebra for so little work."""
    square = np.zeros((len(x), len(centres)))
    for axis in range(x.shape[1]):
        difference = x[:, axis, None] - centres[None, :, axis]
        difference *= difference
        square += difference
    square *= np.sqrt(square)
    return square
