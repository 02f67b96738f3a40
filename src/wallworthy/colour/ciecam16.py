"""CIECAM16: how a colour appears under a white, a brightness and a surround, and back.

Source: Li2017, CIE248.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
SurroundName = Literal["average", "dim", "dark"]

CAT16: Final = np.array(
    [[0.401288, 0.650173, -0.051461], [-0.250268, 1.204414, 0.045854], [-0.002079, 0.048952, 0.953127]]
)
SURROUNDS: Final[dict[SurroundName, tuple[float, float, float]]] = {
    "average": (1.0, 0.69, 1.0),
    "dim": (0.9, 0.59, 0.9),
    "dark": (0.8, 0.525, 0.8),
}
"""F, c, Nc."""
STRAIGHT_BELOW: Final = 0.26
STRAIGHT_ABOVE: Final = 150.0
"""Adapted cone responses, white 100: outside these the compression goes on as a straight line (CIE248; CAM16
of 2017 had none). Read second-hand in the colour-science library."""


@dataclass(frozen=True, slots=True)
class Viewing:
    """Viewing conditions.

    white: (3,) XYZ of the adopted white, Y 0-1. adapting_cd_m2: luminance of the adapting field, usually a
    fifth of the white's. background_y: the background's Y, 0-1 of the white. adaptation: 0-1, how far the eye
    has taken the white for white; None for CIE's own degree from luminance and surround, 1 for a light
    wholly discounted.
    """

    white: tuple[float, float, float]
    adapting_cd_m2: float
    background_y: float = 0.2
    surround: SurroundName = "average"
    adaptation: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Appearance:
    """Correlates of appearance, each (...,): lightness J, chroma C, hue angle h in degrees, brightness Q,
    colourfulness M, saturation s."""

    lightness: Array
    chroma: Array
    hue_deg: Array
    brightness: Array
    colourfulness: Array
    saturation: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Set:
    """What depends on the viewing conditions alone."""

    gains: Array
    fl: float
    n: float
    nbb: float
    z: float
    white_response: float
    c: float
    nc: float


def appearance(xyz: ArrayLike, viewing: Viewing) -> Appearance:
    """The appearance of colours.

    xyz: (..., 3), Y 0-1 of the scale `viewing.white` is given in. Source: Li2017, CIE248.

    >>> view = Viewing((0.9505, 1.0, 1.0888), 318.31)
    >>> round(float(appearance([0.1901, 0.2, 0.2178], view).lightness), 4)
    41.7312
    """
    known = _set_of(viewing)
    response = _compressed(np.asarray(xyz, dtype=np.float64) * 100 @ CAT16.T * known.gains, known.fl)
    r, g, b = response[..., 0], response[..., 1], response[..., 2]
    a = r - 12 * g / 11 + b / 11
    yb = (r + g - 2 * b) / 9
    hue = np.degrees(np.arctan2(yb, a)) % 360
    eccentricity = (np.cos(np.radians(hue) + 2) + 3.8) / 4
    achromatic = np.maximum((2 * r + g + b / 20) * known.nbb, 0)
    lightness = 100 * (achromatic / known.white_response) ** (known.c * known.z)
    t = 50000 / 13 * known.nc * known.nbb * eccentricity * np.hypot(a, yb) / (r + g + 21 / 20 * b + 0.305)
    alpha = np.maximum(t, 0) ** 0.9 * (1.64 - 0.29**known.n) ** 0.73
    chroma = alpha * np.sqrt(lightness / 100)
    brightness = 4 / known.c * np.sqrt(lightness / 100) * (known.white_response + 4) * known.fl**0.25
    saturation = 50 * np.sqrt(known.c * alpha / (known.white_response + 4))
    return Appearance(lightness, chroma, hue, brightness, chroma * known.fl**0.25, saturation)


def stimulus(lightness: ArrayLike, chroma: ArrayLike, hue_deg: ArrayLike, viewing: Viewing) -> Array:
    """XYZ (..., 3) of an appearance given by J, C and h: the inverse of `appearance`. Source: Li2017, CIE248.

    >>> view = Viewing((0.9505, 1.0, 1.0888), 318.31)
    >>> stimulus(41.73121, 0.10336, 217.06796, view).round(4).tolist()
    [0.1901, 0.2, 0.2178]
    """
    known = _set_of(viewing)
    j, c, h = (np.asarray(value, dtype=np.float64) for value in (lightness, chroma, hue_deg))
    dark = j <= 0
    safe = np.where(dark, 1.0, j)
    alpha = np.where(dark, 0.0, c / np.sqrt(safe / 100))
    t = (alpha / (1.64 - 0.29**known.n) ** 0.73) ** (1 / 0.9)
    rad = np.radians(h)
    eccentricity = (np.cos(rad + 2) + 3.8) / 4
    achromatic = known.white_response * np.maximum(j / 100, 0) ** (1 / known.c / known.z)
    p1 = 50000 / 13 * known.nc * known.nbb * eccentricity
    p2 = achromatic / known.nbb
    gamma = 23 * (p2 + 0.305) * t / (23 * p1 + 11 * t * np.cos(rad) + 108 * t * np.sin(rad))
    a, b = gamma * np.cos(rad), gamma * np.sin(rad)
    response = np.stack([460 * p2 + 451 * a + 288 * b, 460 * p2 - 891 * a - 261 * b, 460 * p2 - 220 * a - 6300 * b], -1)
    cones = _expanded(response / 1403, known.fl)
    return cones / known.gains @ np.linalg.inv(CAT16).T / 100


def luminance_level(adapting_cd_m2: float) -> float:
    """F_L, the factor of the luminance level; colourfulness is chroma times its fourth root. Source: Li2017, CIE248.

    >>> round(luminance_level(318.31), 4)
    1.1675
    """
    k = 1 / (5 * adapting_cd_m2 + 1)
    return float(0.2 * k**4 * 5 * adapting_cd_m2 + 0.1 * (1 - k**4) ** 2 * np.cbrt(5 * adapting_cd_m2))


def uniform(of: Appearance) -> Array:
    """CAM16-UCS J', a', b' (..., 3): distances in it are near to seen differences. Source: Li2017."""
    lightness = 1.7 * of.lightness / (1 + 0.007 * of.lightness)
    colourful = np.log1p(0.0228 * of.colourfulness) / 0.0228
    hue = np.radians(of.hue_deg)
    return np.stack([lightness, colourful * np.cos(hue), colourful * np.sin(hue)], axis=-1)


def _set_of(viewing: Viewing) -> _Set:
    f, c, nc = SURROUNDS[viewing.surround]
    la = viewing.adapting_cd_m2
    white = np.asarray(viewing.white, dtype=np.float64) * 100
    degree = viewing.adaptation
    if degree is None:
        degree = float(np.clip(f * (1 - np.exp((-la - 42) / 92) / 3.6), 0, 1))
    cones = CAT16 @ white
    gains = degree * white[1] / cones + 1 - degree
    fl = luminance_level(la)
    n = viewing.background_y * 100 / white[1]
    nbb = float(0.725 * (1 / n) ** 0.2)
    r, g, b = _compressed(cones * gains, fl)
    return _Set(gains, fl, n, nbb, float(1.48 + np.sqrt(n)), float((2 * r + g + b / 20) * nbb), c, nc)


def _curve(cones: Array, fl: float) -> Array:
    raised = (fl * cones / 100) ** 0.42
    return 400 * raised / (raised + 27.13)


def _slope_above(fl: float) -> float:
    raised = (fl * STRAIGHT_ABOVE / 100) ** 0.42
    return float(4 * 0.42 * 27.13 * fl * raised / (fl * STRAIGHT_ABOVE / 100) / (raised + 27.13) ** 2)


def _compressed(cones: Array, fl: float) -> Array:
    """Cone responses after compression, without the constant 0.1 that cancels; straight at both ends."""
    low, high = (float(_curve(np.asarray(end), fl)) for end in (STRAIGHT_BELOW, STRAIGHT_ABOVE))
    bent = _curve(np.clip(cones, STRAIGHT_BELOW, STRAIGHT_ABOVE), fl)
    bent = np.where(cones < STRAIGHT_BELOW, low * cones / STRAIGHT_BELOW, bent)
    return np.where(cones > STRAIGHT_ABOVE, high + _slope_above(fl) * (cones - STRAIGHT_ABOVE), bent)


def _expanded(response: Array, fl: float) -> Array:
    low, high = (float(_curve(np.asarray(end), fl)) for end in (STRAIGHT_BELOW, STRAIGHT_ABOVE))
    inside = np.clip(response, low, high)
    cones = 100 / fl * (27.13 * inside / (400 - inside)) ** (1 / 0.42)
    cones = np.where(response < low, response * STRAIGHT_BELOW / low, cones)
    return np.where(response > high, STRAIGHT_ABOVE + (response - high) / _slope_above(fl), cones)
