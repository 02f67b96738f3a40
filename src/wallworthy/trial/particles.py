"""Draws that fill a distribution evenly, their densities, and weights against a mixture of proposals."""

from __future__ import annotations

from dataclasses import dataclass
from math import lgamma, log, pi

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Proposal:
    """A Gaussian (freedom None) or Student distribution of m dimensions."""

    mean: Array
    covariance: Array
    freedom: float | None = None

    def draw(self, rng: np.random.Generator, count: int) -> Array:
        """(count, m) draws that fill the distribution evenly, shifted by chance."""
        normal = even_normals(rng, count, len(self.mean))
        if self.freedom is not None:
            normal = normal / np.sqrt(rng.chisquare(self.freedom, count) / self.freedom)[:, None]
        return self.mean + normal @ np.linalg.cholesky(self.covariance).T

    def log_density(self, draws: Array) -> Array:
        """Natural log of the density at (n, m) draws, with its constant, since proposals are mixed."""
        size = len(self.mean)
        factor = np.linalg.cholesky(self.covariance)
        square = (((draws - self.mean) @ np.linalg.inv(factor).T) ** 2).sum(axis=1)
        volume = float(np.log(np.diag(factor)).sum())
        if self.freedom is None:
            return -0.5 * square - (volume + 0.5 * size * log(2 * pi))
        freedom = self.freedom
        constant = lgamma((freedom + size) / 2) - lgamma(freedom / 2) - 0.5 * size * log(freedom * pi) - volume
        return constant - 0.5 * (freedom + size) * np.log1p(square / freedom)


def even_uniforms(rng: np.random.Generator, count: int, size: int) -> Array:
    """(count, size) points in the unit cube: a Kronecker sequence of powers of the generalised golden ratio, shifted by
    chance (Cranley and Patterson 1976)."""
    golden = 2.0
    for _ in range(40):
        golden = (1 + golden) ** (1 / (size + 1))
    steps = golden ** -np.arange(1.0, size + 1)
    return (rng.random(size) + np.arange(1, count + 1)[:, None] * steps) % 1.0


def even_normals(rng: np.random.Generator, count: int, size: int) -> Array:
    """(count, size) standard normal draws that fill the space evenly."""
    return ndtri(np.clip(even_uniforms(rng, count, size), 1e-9, 1 - 1e-9))


def log_mixture(draws: Array, proposals: list[tuple[Proposal, int]]) -> Array:
    """Log density at the draws of a mixture of proposals, each with the number of draws taken from it (Cappe2004)."""
    total = sum(count for _, count in proposals)
    parts = np.stack([one.log_density(draws) + log(count / total) for one, count in proposals])
    top = parts.max(axis=0)
    return top + np.log(np.exp(parts - top).sum(axis=0))


def normalised(log_weight: Array) -> Array:
    """Weights that sum to 1."""
    weights = np.exp(log_weight - log_weight.max())
    return weights / weights.sum()


def effective(weights: Array) -> float:
    """How many equally weighted draws these are worth."""
    return float(1 / (weights**2).sum())


def tempered(log_weight: Array, least: float) -> Array:
    """Weights from the highest power (at most 1) of the likelihood that leaves `least` effective draws."""
    power = 1.0
    for _ in range(12):
        weights = normalised(power * log_weight)
        if effective(weights) >= least:
            return weights
        power *= 0.7
    return normalised(power * log_weight)


def weighted_quantile(values: Array, weights: Array, share: float) -> float:
    """The value below which `share` of the weight lies."""
    order = np.argsort(values)
    reached = np.cumsum(weights[order]) - weights[order] / 2
    return float(np.interp(share, reached, values[order]))
