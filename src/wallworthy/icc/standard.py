"""Standard spaces as profiles of our own making; the same bytes every time.

sRGB: IEC 61966-2-1. Display P3: P3 primaries with D65 white and the sRGB curve. The wide space:
ROMM RGB, ISO 22028-2. The working encoding: `colour.working`.
"""

from __future__ import annotations

from functools import cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.colour.bradford import bradford_matrix
from wallworthy.colour.chromaticity import xy_to_xyz
from wallworthy.colour.lab import PCS_WHITE
from wallworthy.colour.working import WORKING_TO_XYZ, rgb_to_xyz_matrix
from wallworthy.icc.curves import IDENTITY, ParametricCurve, TableCurve
from wallworthy.icc.encode import lut_b_only, multilingual_element, xyz_element
from wallworthy.icc.write import assemble, grey_profile_of, matrix_profile

Array = NDArray[np.float64]

NO_COPYRIGHT: Final = "No copyright, use freely"
D65_XY: Final = (0.3127, 0.3290)
BT709_XY: Final = ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060))
"""IEC 61966-2-1 and ITU-R BT.709."""
P3_XY: Final = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
"""SMPTE RP 431-2."""
TABLE_SAMPLES: Final = 4096

SRGB_CURVE: Final = ParametricCurve(3, (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045))
"""IEC 61966-2-1, signal to linear light."""
LSTAR_CURVE: Final = ParametricCurve(3, (3.0, 1 / 1.16, 0.16 / 1.16, 2700 / 24389, 0.08))
"""L*/100 to Y, ISO/CIE 11664-4."""
ROMM_CURVE: Final = ParametricCurve(3, (1.8, 1.0, 0.0, 1 / 16, 1 / 32))
"""ISO 22028-2 (toe from memory): 16 E below E = 1/512."""


@cache
def srgb_profile() -> bytes:
    """sRGB as a version 2 profile with a 4096-sample curve, which every reader takes."""
    to_xyz, adaptation = _from_d65(BT709_XY)
    return matrix_profile("sRGB (IEC 61966-2-1)", NO_COPYRIGHT, to_xyz, _sampled(SRGB_CURVE), adaptation=adaptation)


@cache
def display_p3_profile() -> bytes:
    """Display P3 as a version 4 profile with the sRGB curve as a formula."""
    to_xyz, adaptation = _from_d65(P3_XY)
    return matrix_profile("Display P3", NO_COPYRIGHT, to_xyz, SRGB_CURVE, adaptation=adaptation, version=4)


@cache
def grey_profile() -> bytes:
    """Grey with the sRGB curve, version 2."""
    return grey_profile_of("Grey with the sRGB curve", NO_COPYRIGHT, _sampled(SRGB_CURVE))


@cache
def working_profile() -> bytes:
    """The working encoding (`colour.working`) as a version 4 profile: R = G = B = L*/100 for neutrals."""
    return matrix_profile("Wallworthy working RGB", NO_COPYRIGHT, WORKING_TO_XYZ, LSTAR_CURVE, version=4)


@cache
def wide_profile() -> bytes:
    """A wide space for 16-bit masters: ROMM primaries and curve, version 4."""
    return matrix_profile("Wallworthy wide RGB", NO_COPYRIGHT, WORKING_TO_XYZ, ROMM_CURVE, version=4)


@cache
def lab_profile() -> bytes:
    """Lab itself (D50) as a version 4 colour space profile whose tables change nothing."""
    identity = {
        "A2B0": lut_b_only(b"mAB ", [IDENTITY.encode()] * 3),
        "B2A0": lut_b_only(b"mBA ", [IDENTITY.encode()] * 3),
    }
    tags = {
        "desc": multilingual_element("CIELAB D50"),
        "cprt": multilingual_element(NO_COPYRIGHT),
        "wtpt": xyz_element(PCS_WHITE),
    }
    return assemble("spac", "LAB", "LAB", tags | identity, version=4)


def _from_d65(primaries_xy: ArrayLike) -> tuple[Array, Array]:
    """Linear RGB to XYZ under D50, and the Bradford matrix from D65 that took it there."""
    white = xy_to_xyz(D65_XY)
    adaptation = bradford_matrix(white, PCS_WHITE)
    return adaptation @ rgb_to_xyz_matrix(primaries_xy, white), adaptation


def _sampled(curve: ParametricCurve) -> TableCurve:
    return TableCurve(curve(np.linspace(0.0, 1.0, TABLE_SAMPLES)))
