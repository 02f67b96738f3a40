"""Chromaticities: xy, CIE 1976 u'v', and the daylight locus of CIE 15:2018."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.errors import InputError

Array = NDArray[np.float64]

D50_XY = (0.34567, 0.35850)
"""CIE 15:2018, illuminant D50, 2 degree observer (xy to five digits, from memory; checked against colour-science)."""


def xy_to_xyz(xy: ArrayLike) -> Array:
    """Chromaticity (..., 2) to XYZ with Y = 1."""
    xy = np.asarray(xy, dtype=np.float64)
    x, y = xy[..., 0], xy[..., 1]
    return np.stack([x / y, np.ones_like(x), (1 - x - y) / y], axis=-1)


def xyz_to_uv(xyz: ArrayLike) -> Array:
    """XYZ (..., 3) to CIE 1976 u', v' (..., 2). Source: CIE 15:2018."""
    xyz = np.asarray(xyz, dtype=np.float64)
    total = xyz[..., 0] + 15 * xyz[..., 1] + 3 * xyz[..., 2]
    return np.stack([4 * xyz[..., 0] / total, 9 * xyz[..., 1] / total], axis=-1)


def daylight_xy(cct_k: float) -> tuple[float, float]:
    """Chromaticity of CIE daylight at a correlated colour temperature, 4000 to 25000 K.

    Raises InputError outside. Source: CIE 15:2018, daylight locus.

    >>> [round(v, 4) for v in daylight_xy(6504)]
    [0.3127, 0.3291]
    """
    if not 4000 <= cct_k <= 25000:
        raise InputError(
            "cct_out_of_range",
            f"The daylight series runs from 4000 K to 25000 K, so {cct_k:g} K has no daylight.",
            "Give a temperature in that range.",
            where="--cct",
        )
    t = 1000 / cct_k
    if cct_k <= 7000:
        x = -4.6070 * t**3 + 2.9678 * t**2 + 0.09911 * t + 0.244063
    else:
        x = -2.0064 * t**3 + 1.9018 * t**2 + 0.24748 * t + 0.237040
    return x, -3.0 * x * x + 2.870 * x - 0.275


def planckian_xy(cct_k: float) -> tuple[float, float]:
    """Chromaticity of a black body, 1667 to 25000 K: cubic spline of Kim et al. 2002 (US patent 7,024,034).

    For lamps below 4000 K, where daylight ends. Coefficients from memory; the tests compare them
    with a Planck integration by colour-science.
    """
    if not 1667 <= cct_k <= 25000:
        raise InputError(
            "cct_out_of_range",
            f"{cct_k:g} K is no lamp's colour temperature.",
            "Give a temperature between 1667 K and 25000 K.",
            where="--cct",
        )
    t = 1000 / cct_k
    if cct_k <= 4000:
        x = -0.2661239 * t**3 - 0.2343589 * t**2 + 0.8776956 * t + 0.179910
    else:
        x = -3.0258469 * t**3 + 2.1070379 * t**2 + 0.2226347 * t + 0.240390
    if cct_k <= 2222:
        y = -1.1063814 * x**3 - 1.34811020 * x**2 + 2.18555832 * x - 0.20219683
    elif cct_k <= 4000:
        y = -0.9549476 * x**3 - 1.37418593 * x**2 + 2.09137015 * x - 0.16748867
    else:
        y = 3.0817580 * x**3 - 5.87338670 * x**2 + 3.75112997 * x - 0.37001483
    return x, y


def duv_from_d50(xy: ArrayLike) -> float:
    """Distance in u'v' from D50 (2 degree observer)."""
    here = xyz_to_uv(xy_to_xyz(xy))
    d50 = xyz_to_uv(xy_to_xyz(D50_XY))
    return float(np.hypot(*(here - d50)))
