"""Ink on paper: a cellular Yule-Nielsen-modified spectral Neugebauer model over computed primaries.

The films are Beer-Lambert absorbers on a scattering paper under Saunderson's surface correction;
halftone dots mix by Demichel's weights in reflectance to the power 1/n; the cells are rescaled
between nodes computed for single droplet levels (Neugebauer1937, YuleNielsen1951, Demichel1924,
Saunderson1942). The parameters are invented; the formulas are the published ones.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import cast

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csr_array

from wallworthy.demo.parameters import PrinterParameters
from wallworthy.demo.spectra import WAVELENGTHS_NM

Array = NDArray[np.float64]

ROWS_AT_ONCE = 16384


def demichel_weights(coverage: ArrayLike) -> Array:
    """Share of the paper under each overprint of dots laid independently.

    coverage: (..., k), 0-1. Returns (..., 2**k), summing to 1; bit i of the index says whether ink i is there.
    Source: Demichel1924, as used by Neugebauer1937.

    >>> demichel_weights([0.5, 0.2]).round(2).tolist()
    [0.4, 0.4, 0.1, 0.1]
    """
    coverage = np.asarray(coverage, dtype=np.float64)
    weights = np.ones((*coverage.shape[:-1], 1))
    for i in range(coverage.shape[-1]):
        a = coverage[..., i : i + 1]
        weights = np.concatenate([weights * (1 - a), weights * a], axis=-1)
    return weights


def through_surface(inner: ArrayLike, surface: float, internal: float) -> Array:
    """Reflectance inside the material to reflectance as measured. Source: Saunderson1942."""
    inner = np.asarray(inner, dtype=np.float64)
    return surface + (1 - surface) * (1 - internal) * inner / (1 - internal * inner)


def under_surface(measured: ArrayLike, surface: float, internal: float) -> Array:
    """The inverse of `through_surface`."""
    seen = (np.asarray(measured, dtype=np.float64) - surface) / (1 - surface)
    return seen / (1 - internal + internal * seen)


def dot_area(amount: ArrayLike, gain: ArrayLike) -> Array:
    """Area a dot really covers: amount + 4 gain amount (1 - amount), gain being the growth at 0.5."""
    amount = np.asarray(amount, dtype=np.float64)
    return amount + 4 * np.asarray(gain) * amount * (1 - amount)


@dataclass(frozen=True, slots=True, eq=False)
class InkModel:
    """One machine on one paper, ready to compute. `nodes`: (levels**inks, 36), reflectance to the power 1/n."""

    levels: Array
    gain: Array
    yule_nielsen_n: float
    nodes: NDArray[np.float32]

    def spectra(self, amounts: ArrayLike) -> Array:
        """Reflectance (n, 36), 0-1, of ink amounts (n, inks), 0-1."""
        amounts = np.asarray(amounts, dtype=np.float64)
        pieces = [self._some(amounts[i : i + ROWS_AT_ONCE]) for i in range(0, len(amounts), ROWS_AT_ONCE)]
        return np.concatenate(pieces) if pieces else np.zeros((0, self.nodes.shape[1]))

    def _some(self, amounts: Array) -> Array:
        count, inks = amounts.shape
        steps = len(self.levels)
        area = dot_area(np.clip(amounts, 0, 1), self.gain)
        node_area = dot_area(self.levels[:, None], self.gain[None, :])
        below = np.zeros((count, inks), dtype=np.int64)
        for level in range(1, steps - 1):
            below += area >= node_area[level]
        low = np.take_along_axis(node_area, below, axis=0)
        high = np.take_along_axis(node_area, below + 1, axis=0)
        weights = demichel_weights((area - low) / (high - low)).astype(np.float32)
        stride = steps ** np.arange(inks)
        corner = ((np.arange(2**inks)[:, None] >> np.arange(inks)) & 1) @ stride
        columns = (below @ stride)[:, None] + corner
        starts = np.arange(count + 1) * 2**inks
        shape = (count, len(self.nodes))
        mixing = csr_array((weights.ravel(), columns.ravel().astype(np.int32), starts.astype(np.int32)), shape=shape)
        mixed = cast(NDArray[np.float32], mixing @ self.nodes)
        return mixed.astype(np.float64) ** self.yule_nielsen_n


def build_model(parameters: PrinterParameters) -> InkModel:
    """Compute the cell nodes' primaries from the ink films (kept for the model's life)."""
    paper = parameters.paper
    steps, inks = len(parameters.levels), len(parameters.inks)
    gain = paper.dot_gain + parameters.unit.dot_gain_shift
    power = 1 / paper.yule_nielsen_n
    index = np.arange(steps**inks)
    digit = (index[:, None] // steps ** np.arange(inks)) % steps
    thickness = np.where(digit > 0, parameters.thinnest + (1 - parameters.thinnest) * parameters.levels[digit], 0.0)
    density = (thickness * parameters.unit.ink_strength) @ parameters.absorbance
    inner = under_surface(paper_spectrum(parameters), paper.surface_reflection, paper.internal_reflection)
    films = through_surface(inner * 10**-density, paper.surface_reflection, paper.internal_reflection) ** power
    table = films.reshape((steps,) * inks + (len(WAVELENGTHS_NM),))
    for axis in range(inks):
        ink = inks - 1 - axis  # the first ink has the smallest stride, so it is the last axis
        area = dot_area(parameters.levels, gain[ink])
        shape = (steps,) + (1,) * (table.ndim - 1)
        first = np.moveaxis(table, axis, 0)
        mixed = (1 - area).reshape(shape) * first[:1] + area.reshape(shape) * first
        table = np.moveaxis(mixed, 0, axis)
    nodes = np.ascontiguousarray(table.reshape(steps**inks, -1), dtype=np.float32)
    return InkModel(parameters.levels, gain, paper.yule_nielsen_n, nodes)


def paper_spectrum(parameters: PrinterParameters) -> Array:
    """The bare paper's reflectance (36,), with this unit's batch of paper."""
    tilt = (WAVELENGTHS_NM - 555) / 175
    unit = parameters.unit
    return np.clip(parameters.paper.reflectance * (1 + unit.white_level + unit.white_tilt * tilt), 0, 1)


def unsteady(parameters: PrinterParameters, noise: np.random.Generator) -> PrinterParameters:
    """The same machine on another day: ink strength and dot gain a little off."""
    sigma = parameters.unsteadiness
    strength = parameters.unit.ink_strength * (1 + sigma.ink_strength * noise.standard_normal(len(parameters.inks)))
    shift = parameters.unit.dot_gain_shift + sigma.dot_gain * float(noise.standard_normal())
    return replace(parameters, unit=replace(parameters.unit, ink_strength=strength, dot_gain_shift=shift))
