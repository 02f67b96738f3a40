"""The eye's contrast sensitivity and the square-root integral, after Barten (1999).

The sensitivity of an average young observer to a grating on a square field, and how many just
noticeable differences of sharpness a picture's transfer is worth.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

OPTICAL_SIGMA_ARCMIN: Final = 0.5
SIGMA_PER_PUPIL_MM: Final = 0.08
INTEGRATION_TIME_S: Final = 0.1
LARGEST_FIELD_DEG: Final = 12.0
MOST_CYCLES: Final = 15.0
QUANTUM_EFFICIENCY: Final = 0.03
PHOTONS_PER_TROLAND: Final = 1.2274e6
NEURAL_NOISE: Final = 3e-8
LATERAL_INHIBITION_CPD: Final = 7.0
SIGNAL_TO_NOISE: Final = 3.0
"""Barten's k for an average observer."""

LOWEST_CPD: Final = 0.5
HIGHEST_CPD: Final = 60.0
"""The range over which sharpness is summed, cycles per degree; nothing beyond it is seen."""


def pupil_diameter_mm(luminance_cd_m2: ArrayLike, field_deg: ArrayLike) -> Array:
    """The pupil's diameter for a mean luminance and a square field of that side. Source: Barten1999.

    >>> pupil_diameter_mm(135, 40).round(5).item()
    2.92345
    """
    adapting = np.asarray(luminance_cd_m2, dtype=np.float64) * np.asarray(field_deg, dtype=np.float64) ** 2 / 40**2
    return 5 - 3 * np.tanh(0.4 * np.log10(adapting))


def retinal_illuminance_td(luminance_cd_m2: ArrayLike, pupil_mm: ArrayLike) -> Array:
    """Retinal illuminance in trolands, with the Stiles-Crawford effect. Source: Barten1999.

    >>> retinal_illuminance_td(135, pupil_diameter_mm(135, 40)).round(2).item()
    826.67
    """
    d = np.asarray(pupil_mm, dtype=np.float64)
    falloff = 1 - (d / 9.7) ** 2 + (d / 12.4) ** 4
    return np.pi * d**2 * np.asarray(luminance_cd_m2, dtype=np.float64) / 4 * falloff


def optical_transfer(frequency_cpd: ArrayLike, sigma_deg: ArrayLike) -> Array:
    """The eye's own transfer: a Gaussian of standard deviation `sigma_deg`. Source: Barten1999.

    >>> optical_transfer(4, 0.01).round(6).item()
    0.968911
    """
    u = np.asarray(frequency_cpd, dtype=np.float64)
    return np.exp(-2 * np.pi**2 * np.asarray(sigma_deg, dtype=np.float64) ** 2 * u**2)


def sensitivity_of(
    frequency_cpd: ArrayLike, sigma_deg: ArrayLike, trolands: ArrayLike, field_deg: ArrayLike, k: ArrayLike
) -> Array:
    """Contrast sensitivity from the eye's blur and light; all broadcast. Source: Barten1999.

    >>> sigma = (0.5**2 + (0.08 * 2.1) ** 2) ** 0.5 / 60
    >>> sensitivity_of(4.0, sigma, retinal_illuminance_td(20, 2.1), 60, 3).round(4).item()
    360.8691
    """
    u = np.asarray(frequency_cpd, dtype=np.float64)
    field = np.asarray(field_deg, dtype=np.float64)
    seen = 1 / field**2 + 1 / LARGEST_FIELD_DEG**2 + u**2 / MOST_CYCLES**2
    photons = 1 / (QUANTUM_EFFICIENCY * PHOTONS_PER_TROLAND * np.asarray(trolands, dtype=np.float64))
    neural = NEURAL_NOISE / -np.expm1(-((u / LATERAL_INHIBITION_CPD) ** 2))
    noise = np.sqrt(2 / INTEGRATION_TIME_S * seen * (photons + neural))
    return optical_transfer(u, sigma_deg) / np.asarray(k, dtype=np.float64) / noise


def contrast_sensitivity(
    frequency_cpd: ArrayLike, luminance_cd_m2: ArrayLike, field_deg: ArrayLike, k: ArrayLike = SIGNAL_TO_NOISE
) -> Array:
    """Sensitivity (one over the threshold modulation) to gratings, by cycles per degree.

    frequency_cpd above 0; luminance_cd_m2: mean of what is looked at; field_deg: side of the square
    field; all broadcast. Source: Barten1999.

    >>> contrast_sensitivity([1, 5, 30], 135, 40).round(1).tolist()
    [551.0, 631.7, 33.0]
    """
    pupil = pupil_diameter_mm(luminance_cd_m2, field_deg)
    sigma = np.hypot(OPTICAL_SIGMA_ARCMIN, SIGMA_PER_PUPIL_MM * pupil) / 60
    return sensitivity_of(frequency_cpd, sigma, retinal_illuminance_td(luminance_cd_m2, pupil), field_deg, k)


def square_root_integral(frequency_cpd: ArrayLike, modulation: ArrayLike, sensitivity: ArrayLike) -> Array:
    """Just noticeable differences of sharpness: the integral of sqrt(M S) over ln u, divided by ln 2.

    frequency_cpd: (n,) rising; modulation and sensitivity: (..., n); trapezoids in ln u. Source: Barten1999.

    >>> u = np.geomspace(1, 2, 9)
    >>> square_root_integral(u, np.ones(9), np.ones(9)).round(12).item()
    1.0
    """
    worth = np.sqrt(np.asarray(modulation, dtype=np.float64) * np.asarray(sensitivity, dtype=np.float64))
    return np.asarray(np.trapezoid(worth, np.log(np.asarray(frequency_cpd, dtype=np.float64))) / math.log(2))
