"""IPT against an independent library, there and back."""

from __future__ import annotations

import numpy as np
import pytest

from support.colour_science import colour
from wallworthy.colour.bradford import bradford_matrix
from wallworthy.colour.ipt import D65_WHITE, hue_deg, ipt_to_xyz, xyz_to_ipt
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz


@pytest.mark.source("ColourScience", "XYZ_to_IPT, IPT_hue_angle")
@pytest.mark.source("Ebner1998", "by that library; the thesis itself was not read")
def test_against_colour_science() -> None:
    lab = np.random.default_rng(43).uniform([5, -60, -60], [98, 60, 60], (500, 3))
    xyz = lab_to_xyz(lab)
    theirs = colour.XYZ_to_IPT(xyz @ bradford_matrix(PCS_WHITE, D65_WHITE).T)
    ours = xyz_to_ipt(xyz)
    assert ours == pytest.approx(theirs, abs=2e-4)
    assert hue_deg(ours) == pytest.approx(colour.models.IPT_hue_angle(ours), abs=1e-9)
    assert ipt_to_xyz(ours) == pytest.approx(xyz, abs=1e-9)


@pytest.mark.practice
def test_greys_have_no_hue() -> None:
    greys = lab_to_xyz(np.stack([np.linspace(0, 100, 21), np.zeros(21), np.zeros(21)], axis=-1))
    assert np.abs(xyz_to_ipt(greys)[:, 1:]).max() < 2e-3
