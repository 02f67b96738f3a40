"""The seeded colours that every table is measured with, whatever stands behind it."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.colour.bradford import bradford_matrix
from wallworthy.colour.lab import PCS_WHITE, xyz_to_lab
from wallworthy.colour.working import lab_to_working, rgb_to_xyz_matrix

PROBES: Final = 200_000
SEED: Final = 18619

# IEC 61966-2-1 (sRGB): primaries, white and transfer curve; only a cloud of probe colours depends on them.
SRGB_PRIMARIES_XY: Final = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
D65_XYZ: Final = np.array([0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290])


@lru_cache(maxsize=1)
def probe_colours() -> NDArray[np.float32]:
    """The seeded colours tables are measured with, working RGB (200000, 3), read-only.

    Cube and sRGB colours alternate, so that any first part is half of each.
    """
    dice = np.random.default_rng(SEED)
    probes = np.empty((PROBES, 3), dtype=np.float32)
    probes[0::2] = dice.uniform(0, 1, (PROBES // 2, 3))
    encoded = dice.uniform(0, 1, (PROBES // 2, 3))
    light = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    to_xyz = bradford_matrix(D65_XYZ, PCS_WHITE) @ rgb_to_xyz_matrix(SRGB_PRIMARIES_XY, D65_XYZ)
    probes[1::2] = np.clip(lab_to_working(xyz_to_lab(light @ to_xyz.T)), 0, 1)
    probes.flags.writeable = False
    return probes
