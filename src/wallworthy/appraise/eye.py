"""How much detail a print loses to the eye: the product's model, and the bare one it is checked with.

What the file holds, times resampling, times ink and paper, with output sharpening, seen from a
distance under a light; against an unlimited file on the same paper. Units: just noticeable
differences (JND), the square-root integral of Barten1999. The parameter table and the values
expected of it stand in docs/reference/deficit.md.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.records import Pair
from wallworthy.base.units import MM_PER_INCH
from wallworthy.colour.barten1999 import HIGHEST_CPD, LOWEST_CPD, contrast_sensitivity, square_root_integral

Array = NDArray[np.float64]

STEPS: Final = 385
"""Points of the integral, evenly in ln u from 0.5 to 60 cycles per degree."""

FREQUENCIES: Final = np.geomspace(LOWEST_CPD, HIGHEST_CPD, STEPS)
STEP: Final = math.log(HIGHEST_CPD / LOWEST_CPD) / (STEPS - 1)

MEAN_SHARE: Final = 0.22
"""A picture's mean luminance as a share of its paper's white (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Seeing:
    """The model's parameters; the defaults are those of the product."""

    mean_cd_m2: float = 30.0
    """Mean luminance of the print: MEAN_SHARE of paper white, 135 cd/m2 under 500 lux."""
    paper_mtf50_per_mm: float = 6.0
    """Cycles per mm at which ink and paper keep half the contrast; gloss."""
    sharpening_cap: float = 2.0
    """Most that output sharpening amplifies any frequency."""
    k: float = 3.0
    """Signal to noise at the eye's threshold."""
    output_ppi: float = 360.0
    """Density the printer is fed with; nothing finer is printed."""


RANGES: Final[Mapping[str, Pair]] = {
    "mean_cd_m2": (10.0, 140.0),
    "paper_mtf50_per_mm": (4.0, 8.0),
    "sharpening_cap": (2.0, 3.0),
    "k": (2.5, 3.5),
}
"""Where the parameters lie when nothing is known of light, paper, sharpening and eye."""

PAPERS: Final[Mapping[str, tuple[float, float, float]]] = {
    "gloss": (6.0, 5.0, 8.0),
    "lustre": (5.5, 4.5, 7.0),
    "matt": (4.5, 3.5, 6.0),
    "canvas": (3.5, 2.5, 5.0),
}
"""Paper MTF50 by surface: value, low, high, in cycles per mm (gloss from trials; the others common practice)."""


@dataclass(frozen=True, slots=True)
class Transfer:
    """What a file holds: modulation by frequency, 0 to 0.5 cycles per pixel, evenly spaced; none beyond."""

    modulation: tuple[float, ...]

    def at(self, cycles_per_px: Array) -> Array:
        """The modulation at any frequency; 0 beyond the last."""
        known = np.linspace(0, 0.5, len(self.modulation))
        return np.interp(cycles_per_px, known, np.asarray(self.modulation), right=0.0)

    def stretched(self, factor: float) -> Transfer:
        """The transfer of a file whose detail lies at frequencies `factor` times as high, up to 0.5."""
        known = np.linspace(0, 0.5, len(self.modulation))
        return Transfer(tuple(float(v) for v in self.at(known / factor)))


def pixel_box(count: int = 51) -> Transfer:
    """A file as sharp as its pixels allow: a square aperture's transfer, up to half a cycle per pixel."""
    return Transfer(tuple(float(v) for v in np.sinc(np.linspace(0, 0.5, count))))


SHARP: Final = pixel_box()


@dataclass(frozen=True, slots=True)
class Seen:
    """Deficit against an ideal print, never negative; overshoot, what is exaggerated, apart. In JND."""

    deficit_jnd: float
    overshoot_jnd: float


def deficit(transfer: Transfer, ppi: float, size_mm: Pair, distance_mm: float, model: Seeing | None = None) -> Seen:
    """Detail lost by a print of `size_mm` whose file pixels lie at `ppi` on paper, seen from `distance_mm`.

    Source: Barten1999, with this project's model of the print (docs/reference/deficit.md).
    """
    lost, over = deficits(transfer, ppi, size_mm, distance_mm, (model or Seeing(),))
    return Seen(float(lost[0]), float(over[0]))


def deficits(
    transfer: Transfer, ppi: float, size_mm: Pair, distance_mm: float, models: tuple[Seeing, ...]
) -> tuple[Array, Array]:
    """Deficit and overshoot for each parameter set, (n,) each."""
    table = np.array([[getattr(model, field.name) for field in fields(Seeing)] for model in models])
    mean, paper50, cap, k, output = (table[:, i : i + 1] for i in range(5))
    field = math.degrees(2 * math.atan(math.sqrt(size_mm[0] * size_mm[1]) / 2 / distance_mm))
    sensitivity = contrast_sensitivity(FREQUENCIES, mean, max(field, 0.05), k)
    per_mm = FREQUENCIES / (distance_mm * math.tan(math.radians(1)))
    ideal, real = print_transfers(transfer, ppi, per_mm, paper50, cap, output)
    best = square_root_integral(FREQUENCIES, ideal, sensitivity)
    lost = best - square_root_integral(FREQUENCIES, np.minimum(real, ideal), sensitivity)
    over = square_root_integral(FREQUENCIES, np.maximum(real, ideal), sensitivity) - best
    return np.maximum(lost, 0.0), np.maximum(over, 0.0)


def print_transfers(
    transfer: Transfer, ppi: float, per_mm: Array, paper50: Array, cap: Array, output_ppi: Array
) -> tuple[Array, Array]:
    """Modulation on paper, sharpened for it, of an unlimited file and of this one, (n, frequencies).

    Sharpening undoes what is known: paper, resampling and the pixels' own aperture, up to `cap`. It does not undo
    the file's own softness, of which a printer knows nothing.
    """
    paper = np.exp2(-((per_mm / paper50) ** 2))
    printed = covered(per_mm, output_ppi / MM_PER_INCH / 2)
    ideal = np.minimum(1.0, cap * paper) * printed
    per_px = per_mm * MM_PER_INCH / ppi
    shrunk = np.where(output_ppi > ppi, cubic_transfer(per_px), 1.0)
    known = np.maximum(np.sinc(np.minimum(per_px, 0.5)) * shrunk * paper, 1e-12)
    gain = np.minimum(cap, 1.0 / known)
    held = transfer.at(np.minimum(per_px, 0.5)) * covered(per_px, np.array(0.5))
    return ideal, held * shrunk * paper * gain * printed


def covered(frequency: Array, limit: Array) -> Array:
    """1 below a limit and 0 above it; the share of its step for the frequency the limit cuts through."""
    return np.clip(np.log(limit / frequency) / STEP + 0.5, 0.0, 1.0)


def cubic_transfer(cycles_per_px: ArrayLike) -> Array:
    """What the enlarging kernel leaves of a frequency of the source, 0 or more. Source: Keys1981, transformed here."""
    known, values = _cubic_table()
    return np.interp(np.asarray(cycles_per_px, dtype=np.float64), known, values, right=0.0)


@cache
def _cubic_table() -> tuple[Array, Array]:
    frequency, x = np.linspace(0, 1, 401), np.linspace(0, 2, 2001)
    near, far = 1 + x**2 * (1.5 * x - 2.5), 2 + x * (-4 + x * (2.5 - 0.5 * x))
    kernel = np.where(x < 1, near, far)
    values = 2 * np.trapezoid(kernel * np.cos(2 * np.pi * frequency[:, None] * x), x, axis=1)
    return frequency, np.maximum(values, 0.0)


def bare_deficit(megapixels: float, diagonals: float, aspect: float = 1.5) -> float:
    """The bare model: pixels as boxes, no paper, no sharpening; only for the check values of the sources.

    Luminance 135 cd/m2, field 40 degrees, 0.5 to 60 cycles per degree; a print seen from `diagonals` of itself.
    Source: Barten1999.

    >>> round(bare_deficit(24, 1.0), 2)
    0.59
    """
    width = math.sqrt(megapixels * 1e6 * aspect)
    px_per_degree = diagonals * math.hypot(width, width / aspect) * math.tan(math.radians(1))
    sensitivity = contrast_sensitivity(FREQUENCIES, 135.0, 40.0)
    ideal = square_root_integral(FREQUENCIES, np.ones(STEPS), sensitivity)
    top = np.geomspace(LOWEST_CPD, min(px_per_degree / 2, HIGHEST_CPD), 4 * STEPS)
    held = square_root_integral(top, np.sinc(top / px_per_degree), contrast_sensitivity(top, 135.0, 40.0))
    return float(ideal - held)


def parameter_sets(ranges: Mapping[str, Pair], count: int, start: int = 7) -> tuple[Seeing, ...]:
    """Parameter sets drawn evenly from their ranges (luminance by ratio), always the same for a `start`."""
    draw = np.random.default_rng(start).random((count, len(ranges)))
    sets: list[Seeing] = []
    for row in draw:
        values: dict[str, float] = {}
        for share, (name, (low, high)) in zip(row, ranges.items(), strict=True):
            by_ratio = name == "mean_cd_m2"
            values[name] = float(low * (high / low) ** share if by_ratio else low + (high - low) * share)
        sets.append(Seeing(**values))
    return tuple(sets)
