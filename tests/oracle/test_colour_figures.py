"""Colour figures computed once with colour-science 0.4.7, kept to the digits it was read at.

None of them is printed in a standard: they hold the program to the same place from day to day, while
test_colour_against_others computes afresh with the library that is installed.
"""

from __future__ import annotations

import numpy as np
import pytest

from wallworthy.colour.bradford import bradford_matrix
from wallworthy.colour.chromaticity import daylight_xy, duv_from_d50, xy_to_xyz
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, xyz_to_lab
from wallworthy.colour.working import rgb_to_xyz_matrix

D65 = (0.3127, 0.3290)
SRGB_PRIMARIES = [(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)]


@pytest.mark.source("ColourScience", "XYZ_to_Lab of .2 .18 .1 under the ICC D50")
def test_cielab_check_value() -> None:
    assert xyz_to_lab([0.2, 0.18, 0.1]) == pytest.approx([49.4961, 13.6660, 13.9408], abs=0.5e-4)
    assert lab_to_xyz([49.4961, 13.6660, 13.9408]) == pytest.approx([0.2, 0.18, 0.1], abs=2e-6)


@pytest.mark.source("ColourScience", "matrix_chromatic_adaptation_VonKries, Bradford, D65 to D50")
def test_bradford() -> None:
    computed = [
        [1.047886, 0.022919, -0.050216],
        [0.029582, 0.990484, -0.017079],
        [-0.009252, 0.015073, 0.751678],
    ]
    assert bradford_matrix(xy_to_xyz(D65), PCS_WHITE) == pytest.approx(np.array(computed), abs=0.5e-6 + 1e-9)


@pytest.mark.source(
    "ColourScience", "primaries and white of IEC 61966-2-1 adapted to D50; public profiles agree within 5e-5"
)
def test_srgb_colorants() -> None:
    white = xy_to_xyz(D65)
    at_d50 = bradford_matrix(white, PCS_WHITE) @ rgb_to_xyz_matrix(SRGB_PRIMARIES, white)
    computed = np.array([[0.43603, 0.22244, 0.01390], [0.38510, 0.71694, 0.09708], [0.14307, 0.06062, 0.71393]])
    assert np.abs(at_d50.T - computed).max() <= 5e-5


@pytest.mark.source("CIE15", "daylight locus")
@pytest.mark.source("ColourScience", "CCT_to_xy_CIE_D, distances from D50 in u'v'")
@pytest.mark.parametrize(("cct_k", "distance"), [(5300, 0.0054), (5500, 0.0087), (5600, 0.0103), (6500, 0.0227)])
def test_daylight_distances_from_d50(cct_k: float, distance: float) -> None:
    # Illuminants of the D series keep the names they had before the radiation constant c2 changed.
    named = cct_k * 1.4388 / 1.4380
    assert duv_from_d50(daylight_xy(named)) == pytest.approx(distance, abs=0.5e-4 + 1e-6)
