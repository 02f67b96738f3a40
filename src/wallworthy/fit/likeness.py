"""How alike a print is to its master, and which way it would grow more alike: multi-scale structural similarity
of lightness with its slope at every pixel.

The figure is that of `fit.eye.similarity` (Wang2003), in single precision, with weights for places.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.fit.eye import (
    CONTRAST_CONSTANT,
    LUMINANCE_CONSTANT,
    SCALES,
    WINDOW_REACH,
    scales_of,
    window_bell,
)
from wallworthy.raster.filters import reduced, summed_under

Floats = NDArray[np.float32]
Real = NDArray[np.floating[Any]]

BELL: Final = window_bell()
LEAST: Final = 1e-6
"""Of a scale that is no more alike than this nothing is told by slopes."""


class Likeness:
    """Likeness to one master, L* (H, W); weight: (H, W), how much each place matters, by default all alike."""

    def __init__(self, master: Real, weight: Real | None = None) -> None:
        plane = np.asarray(master, dtype=np.float32)
        matters = None if weight is None else np.asarray(weight, dtype=np.float32)
        self._scales: list[_Scale] = []
        self._shares = np.array(SCALES[: scales_of(plane.shape)])
        self._shares /= self._shares.sum()
        for _ in self._shares:
            self._scales.append(_Scale.of(plane, matters))
            plane = reduced(plane, 2)
            matters = None if matters is None else reduced(matters, 2)

    def lost(self, printed: Floats) -> tuple[float, Floats]:
        """What the logarithm of the likeness is short of 0, and its slope by each pixel's L*, (H, W)."""
        planes = [printed]
        for _ in self._scales[1:]:
            planes.append(reduced(planes[-1], 2))
        total, slope = 0.0, np.zeros((0, 0), np.float32)
        for n in reversed(range(len(planes))):
            last = n == len(planes) - 1
            value, here = self._scales[n].alike(planes[n], luminance=last)
            total -= self._shares[n] * float(np.log(max(value, LEAST)))
            here *= np.float32(-self._shares[n] / value if value > LEAST else 0)
            if not last:
                _add_spread(here, slope)
            slope = here
        return total, slope


@dataclass(frozen=True, slots=True, eq=False)
class _Scale:
    """One scale of the master: what of it does not depend on the print."""

    plane: Floats
    mean: Floats
    spread: Floats
    """Variance under the window, and the constant."""
    weight: Floats
    """(h, w) under whole windows, summing to 1."""

    @staticmethod
    def of(plane: Floats, weight: Floats | None) -> _Scale:
        mean = _under(plane)
        spread = np.asarray(_under(plane * plane) - mean * mean + CONTRAST_CONSTANT, dtype=np.float32)
        matters = np.ones_like(mean) if weight is None else np.maximum(_inner(weight), 1e-9)
        return _Scale(plane, mean, spread, np.asarray(matters / matters.sum(), dtype=np.float32))

    def alike(self, other: Floats, *, luminance: bool) -> tuple[float, Floats]:
        """The weighted mean of structure, times that of luminance where asked, and its slope by each pixel."""
        mean = _under(other)
        under = self.spread + _under(other * other) - mean * mean
        over = 2 * (_under(self.plane * other) - self.mean * mean) + np.float32(CONTRAST_CONSTANT)
        alike = over / under
        factor = self.weight
        by_mean = np.zeros_like(mean)
        if luminance:
            base = self.mean * self.mean + mean * mean + np.float32(LUMINANCE_CONSTANT)
            light = (2 * self.mean * mean + np.float32(LUMINANCE_CONSTANT)) / base
            by_mean = self.weight * alike * 2 * (self.mean - light * mean) / base
            factor = self.weight * light
        part = factor / under
        by_mean += part * 2 * (alike * mean - self.mean)
        slope = _back(by_mean) + 2 * (self.plane * _back(part) - other * _back(part * alike))
        return float((factor * alike).sum(dtype=np.float64)), np.asarray(slope, dtype=np.float32)


def _inner(plane: Real) -> Real:
    return plane[WINDOW_REACH:-WINDOW_REACH, WINDOW_REACH:-WINDOW_REACH]


def _under(plane: Real) -> Floats:
    """Means under the window where it lies within the picture."""
    return np.asarray(_inner(summed_under(plane, BELL)), dtype=np.float32)


def _back(inner: Real) -> Floats:
    """The other way: what each pixel gave to the windows that hold it."""
    return summed_under(np.pad(inner, WINDOW_REACH), BELL)


def _add_spread(slope: Floats, halved: Floats) -> None:
    """Add the slope of a halved plane to that of the plane itself."""
    coarse = halved * np.float32(0.25)
    height, width = 2 * coarse.shape[0], 2 * coarse.shape[1]
    for down in (0, 1):
        for across in (0, 1):
            slope[down:height:2, across:width:2] += coarse
