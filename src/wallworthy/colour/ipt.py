"""IPT: a space in which lines of one hue are straight, for moving colours without turning them.

Source: Ebner1998.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.colour.bradford import bradford_matrix
from wallworthy.colour.lab import PCS_WHITE

Array = NDArray[np.float64]

D65_WHITE: Final = np.array([0.950456, 1.0, 1.089058])
"""CIE D65 by its usual chromaticity (0.3127, 0.3290), rounded as the paper's matrix has it."""
CONES: Final = np.array([[0.4002, 0.7075, -0.0807], [-0.2280, 1.1500, 0.0612], [0.0, 0.0, 0.9184]])
OPPONENT: Final = np.array([[0.4, 0.4, 0.2], [4.455, -4.851, 0.396], [0.8056, 0.3572, -1.1628]])
POWER: Final = 0.43

FROM_PCS: Final = CONES @ bradford_matrix(PCS_WHITE, D65_WHITE)
TO_PCS: Final = np.linalg.inv(FROM_PCS)
FROM_OPPONENT: Final = np.linalg.inv(OPPONENT)


def xyz_to_ipt(xyz: ArrayLike) -> Array:
    """XYZ (..., 3) relative to the ICC D50, Y 0-1, to I 0-1, P (red-green), T (yellow-blue). Source: Ebner1998.

    >>> (xyz_to_ipt([0.9642, 1.0, 0.8249]).round(3) + 0).tolist()
    [1.0, 0.0, 0.0]
    """
    cones = np.asarray(xyz, dtype=np.float64) @ FROM_PCS.T
    return np.sign(cones) * np.abs(cones) ** POWER @ OPPONENT.T


def ipt_to_xyz(ipt: ArrayLike) -> Array:
    """The inverse of `xyz_to_ipt`. Source: Ebner1998.

    >>> ipt_to_xyz(xyz_to_ipt([0.2, 0.18, 0.1])).round(6).tolist()
    [0.2, 0.18, 0.1]
    """
    bent = np.asarray(ipt, dtype=np.float64) @ FROM_OPPONENT.T
    return np.sign(bent) * np.abs(bent) ** (1 / POWER) @ TO_PCS.T


def hue_deg(ipt: ArrayLike) -> Array:
    """Hue angle (...,) in degrees, 0-360. Source: Ebner1998."""
    ipt = np.asarray(ipt, dtype=np.float64)
    return np.degrees(np.arctan2(ipt[..., 2], ipt[..., 1])) % 360
