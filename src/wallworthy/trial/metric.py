"""How far two corrections lie apart to the eye, for this picture on this paper: a quadratic form in dE00.

Computed from the correction function itself, pixel by pixel, so that a low-key picture weighs its
shadows and a grey one has no opinion about chroma.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.records import CORRECTION_AXES, Correction
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.correction import correct
from wallworthy.trial.axes import PRIOR_SD, correction_of, vector

Array = NDArray[np.float64]
Print = Callable[[Array], Array]
"""Corrected Lab relative to the master's white to Lab of the print relative to the paper, (n, 3) to (n, 3)."""

DE00_PER_JND: Final = 2.0
"""A just noticeable difference over a whole picture, rms dE00. Common practice, no source: images 2-3."""

STEP: Final = 0.1
"""Half step of the differences, in prior standard deviations."""

FLOOR_JND: Final = 1e-3
"""Least distance of one prior standard deviation, so that no direction is free altogether."""


def metric(lab: ArrayLike, printed: Print, about: Correction | None = None) -> Array:
    """The form's (6, 6) matrix in JND squared per squared offset.

    lab: (n, 3) sample of the picture, L* 0-100, relative to the master's white; n of about 2000 is
    enough. printed: what the paper makes of corrected colours. d(c1, c2)^2 = (c1-c2) M (c1-c2)^T is
    the mean squared dE00 between the two prints, over DE00_PER_JND squared, for small gaps.
    Source: this project's definition; dE00 after Sharma2005.
    """
    lab = np.asarray(lab, dtype=np.float64).reshape(-1, 3)
    base = about or Correction()
    centre = printed(correct(lab, base))
    slopes = np.stack([_slope(lab, printed, base, axis) for axis in range(len(CORRECTION_AXES))], axis=-1)
    local = _local_form(centre)
    form = np.einsum("nia,nij,njb->ab", slopes, local, slopes) / len(lab) / DE00_PER_JND**2
    return np.asarray((form + form.T) / 2 + np.diag((FLOOR_JND / PRIOR_SD) ** 2), dtype=np.float64)


def root_of(form: Array) -> Array:
    """(6, 6) matrix R with R R^T = form, so that |gap @ R| is a distance in JND."""
    return np.asarray(np.linalg.cholesky(form), dtype=np.float64)


def _slope(lab: Array, printed: Print, base: Correction, axis: int) -> Array:
    """Change of the printed Lab per unit of an axis, (n, 3)."""
    step = np.zeros(len(PRIOR_SD))
    step[axis] = STEP * PRIOR_SD[axis]
    here = vector(base)
    up = printed(correct(lab, correction_of(here + step, 9)))
    down = printed(correct(lab, correction_of(here - step, 9)))
    return (up - down) / (2 * step[axis])


def _local_form(lab: Array, h: float = 0.5) -> Array:
    """dE00 near a colour as a quadratic form in Lab, (n, 3, 3), by polarisation of small differences."""
    form = np.empty((len(lab), 3, 3))
    unit = np.eye(3) * h
    for i in range(3):
        form[:, i, i] = ciede2000(lab - unit[i] / 2, lab + unit[i] / 2) ** 2
    for i, j in ((0, 1), (0, 2), (1, 2)):
        both = unit[i] + unit[j]
        cross = (ciede2000(lab - both / 2, lab + both / 2) ** 2 - form[:, i, i] - form[:, j, j]) / 2
        form[:, i, j] = form[:, j, i] = cross
    return form / h**2
