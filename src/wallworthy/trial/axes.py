"""Corrections as vectors of six, and the prior that a person's taste is drawn from."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import CORRECTION_AXES, Correction

Vector = NDArray[np.float64]

NEUTRAL: Final = np.array([float(getattr(Correction(), axis)) for axis in CORRECTION_AXES])

PRIOR_SD: Final = np.array([4.0, 0.08, 3.0, 1.5, 2.0, 0.08])
"""How far a wanted correction usually lies from the plain fit, by axis. Common practice, no source;
scaled by what verdicts teach (`trial.house`)."""


STEP: Final = np.array([1.1, 0.03, 1.2, 0.8, 0.8, 0.04])
"""One just noticeable step of each axis in words: common practice, no source; the page says the same."""
UNSAID: Final = 0.5
"""Steps below which nobody would see it: it goes unsaid."""


def vector(correction: Correction) -> Vector:
    """A correction as its distance from the plain fit, (6,), in the axes' own units."""
    return np.array([float(getattr(correction, axis)) for axis in CORRECTION_AXES]) - NEUTRAL


def correction_of(offset: Vector, digits: int = 3) -> Correction:
    """The correction at a distance (6,) from the plain fit, rounded to what is worth saying."""
    values = (NEUTRAL + offset).round(digits) + 0.0
    return Correction(**{axis: float(value) for axis, value in zip(CORRECTION_AXES, values, strict=True)})


def vectors(corrections: Iterable[Correction]) -> Vector:
    """Several corrections as (n, 6)."""
    return np.array([vector(correction) for correction in corrections]).reshape(-1, len(CORRECTION_AXES))
