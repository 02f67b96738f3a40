"""CIELAB, u'v' and Bradford against what the standards themselves state."""

from __future__ import annotations

import numpy as np
import pytest

from wallworthy.colour.bradford import BRADFORD, bradford_matrix
from wallworthy.colour.chromaticity import xy_to_xyz, xyz_to_uv
from wallworthy.colour.lab import PCS_WHITE, lightness_from_y, xyz_to_lab, y_from_lightness


@pytest.mark.source("ISOCIE11664-4", "the two branches meet at Y = 216/24389, L* = 8")
def test_the_branches_meet() -> None:
    seam = 216 / 24389
    assert lightness_from_y([seam * (1 - 1e-12), seam, seam * (1 + 1e-12)]) == pytest.approx([8, 8, 8], abs=1e-9)
    assert y_from_lightness([8 - 1e-9, 8 + 1e-9]) == pytest.approx([seam, seam], abs=1e-11)
    assert xyz_to_lab(PCS_WHITE) == pytest.approx([100, 0, 0], abs=1e-12)


@pytest.mark.source("ICC2022", "Annex E, linear Bradford; read second-hand in colour-science")
def test_the_bradford_matrix() -> None:
    printed = [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
    assert BRADFORD.tolist() == printed
    d65 = xy_to_xyz((0.3127, 0.3290))
    assert bradford_matrix(d65, PCS_WHITE) @ d65 == pytest.approx(PCS_WHITE, abs=1e-12)
    cones = np.array(printed)
    gains = np.diag((cones @ PCS_WHITE) / (cones @ d65))
    assert bradford_matrix(d65, PCS_WHITE) == pytest.approx(np.linalg.inv(cones) @ gains @ cones, abs=1e-12)


@pytest.mark.source("CIE15", "u' = 4X / (X + 15Y + 3Z), v' = 9Y / (X + 15Y + 3Z): 4/19 and 9/19 for equal energy")
def test_equal_energy_in_u_v() -> None:
    assert xyz_to_uv([1, 1, 1]) == pytest.approx([4 / 19, 9 / 19], abs=1e-15)
    assert xyz_to_uv(xy_to_xyz((1 / 3, 1 / 3))) == pytest.approx([4 / 19, 9 / 19], abs=1e-12)
