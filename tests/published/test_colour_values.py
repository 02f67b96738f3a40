"""CIELAB, Bradford, sRGB colorants and daylight against values printed or computed elsewhere."""

from __future__ import annotations

import numpy as np
import pytest

from wallworthy.colour.bradford import BRADFORD, bradford_matrix
from wallworthy.colour.chromaticity import daylight_xy, duv_from_d50, xy_to_xyz
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, lightness_from_y, xyz_to_lab, y_from_lightness
from wallworthy.colour.working import rgb_to_xyz_matrix

D65 = (0.3127, 0.3290)
SRGB_PRIMARIES = [(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)]


@pytest.mark.source("ISOCIE11664-4", "CIELAB of XYZ .2 .18 .1 under the ICC D50, computed with colour-science")
def test_cielab_check_value() -> None:
    assert xyz_to_lab([0.2, 0.18, 0.1]) == pytest.approx([49.4961, 13.6660, 13.9408], abs=0.5e-4)
    assert lab_to_xyz([49.4961, 13.6660, 13.9408]) == pytest.approx([0.2, 0.18, 0.1], abs=2e-6)


@pytest.mark.source("ISOCIE11664-4", "the two branches meet at Y = 216/24389, L* = 8")
def test_the_branches_meet() -> None:
    seam = 216 / 24389
    assert lightness_from_y([seam * (1 - 1e-12), seam, seam * (1 + 1e-12)]) == pytest.approx([8, 8, 8], abs=1e-9)
    assert y_from_lightness([8 - 1e-9, 8 + 1e-9]) == pytest.approx([seam, seam], abs=1e-11)
    assert xyz_to_lab(PCS_WHITE) == pytest.approx([100, 0, 0], abs=1e-12)


@pytest.mark.source("ICC2022", "Annex E, linear Bradford; the D65 to D50 matrix computed with colour-science")
def test_bradford() -> None:
    assert BRADFORD.sum(axis=1) == pytest.approx([1, 1, 1], abs=1e-4)
    printed = [
        [1.047886, 0.022919, -0.050216],
        [0.029582, 0.990484, -0.017079],
        [-0.009252, 0.015073, 0.751678],
    ]
    assert bradford_matrix(xy_to_xyz(D65), PCS_WHITE) == pytest.approx(np.array(printed), abs=0.5e-6 + 1e-9)


@pytest.mark.source("IEC61966", "primaries and white; colorants at D50 as the public profiles carry them")
def test_srgb_colorants() -> None:
    white = xy_to_xyz(D65)
    at_d50 = bradford_matrix(white, PCS_WHITE) @ rgb_to_xyz_matrix(SRGB_PRIMARIES, white)
    printed = np.array([[0.43603, 0.22244, 0.01390], [0.38510, 0.71694, 0.09708], [0.14307, 0.06062, 0.71393]])
    assert np.abs(at_d50.T - printed).max() <= 5e-5


@pytest.mark.source("CIE15", "daylight locus; distances from D50 in u'v' computed with colour-science")
@pytest.mark.parametrize(("cct_k", "distance"), [(5300, 0.0054), (5500, 0.0087), (5600, 0.0103), (6500, 0.0227)])
def test_daylight_distances_from_d50(cct_k: float, distance: float) -> None:
    # Illuminants of the D series keep the names they had before the radiation constant c2 changed.
    named = cct_k * 1.4388 / 1.4380
    assert duv_from_d50(daylight_xy(named)) == pytest.approx(distance, abs=0.5e-4 + 1e-6)
