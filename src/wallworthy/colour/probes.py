"""The seeded colours that every table is measured with, whatever stands behind it."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.colour.bradford import bradford_matrix
from wallworthy.colour.lab import PCS_WHITE, lightness_from_y
from wallworthy.colour.working import XYZ_TO_WORKING, rgb_to_xyz_matrix

EVEN_PROBES: Final = 200_000
DARK_PROBES: Final = 50_000
PROBES: Final = EVEN_PROBES + DARK_PROBES
SEED: Final = 18619

# IEC 61966-2-1 (sRGB): primaries, white and transfer curve; only a cloud of probe colours depends on them.
SRGB_PRIMARIES_XY: Final = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
D65_XYZ: Final = np.array([0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290])


@lru_cache(maxsize=1)
def probe_colours() -> NDArray[np.float32]:
    """The seeded colours tables are measured with, working RGB (250000, 3), read-only.

    200,000 of the cube and of sRGB alternate, so that any first part of them is half of each; then come
    50,000 sRGB colours dimmed to the lower half of the tones, of which pictures hold many.
    """
    dice = np.random.default_rng(SEED)
    probes = np.empty((PROBES, 3), dtype=np.float32)
    probes[0:EVEN_PROBES:2] = dice.uniform(0, 1, (EVEN_PROBES // 2, 3))
    encoded = dice.uniform(0, 1, (EVEN_PROBES // 2, 3))
    light = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    to_xyz = bradford_matrix(D65_XYZ, PCS_WHITE) @ rgb_to_xyz_matrix(SRGB_PRIMARIES_XY, D65_XYZ)
    probes[1:EVEN_PROBES:2] = np.clip(lightness_from_y(light @ (XYZ_TO_WORKING @ to_xyz).T) / 100, 0, 1)
    probes[EVEN_PROBES:] = probes[1 : 2 * DARK_PROBES : 2] * dice.uniform(0.05, 0.6, (DARK_PROBES, 1))
    probes.flags.writeable = False
    return probes
