"""The halftone and surface formulas against worked values of the trade's equations."""

from __future__ import annotations

import numpy as np
import pytest

from wallworthy.demo.inkjet import InkModel, through_surface, under_surface


def one_ink(paper: float, solid: float, n: float) -> InkModel:
    """A model of one ink without mechanical gain, seen in one band."""
    nodes = np.array([[paper], [solid]], dtype=np.float32) ** np.float32(1 / n)
    return InkModel(np.array([0.0, 1.0]), np.array([0.0]), n, nodes)


@pytest.mark.source("YuleNielsen1951", "equation; areas computed from a public CMYK data set, black at 50 %")
@pytest.mark.memory
@pytest.mark.parametrize(("n", "area"), [(1.0, 0.7634), (2.0, 0.5779)])
def test_murray_davies_and_yule_nielsen(n: float, area: float) -> None:
    # Paper Y .917255, solid .017, the tint .23: the area at n = 1 (Murray-Davies) is .7634, at n = 2 .5779.
    assert one_ink(0.917255, 0.017, n).spectra([[area]]).item() == pytest.approx(0.23, abs=1e-4)


@pytest.mark.source("Neugebauer1937", "equations")
def test_neugebauer_of_two_inks_by_hand() -> None:
    # Paper .9, ink 1 .5, ink 2 .3, both .1; a = .4, b = .25:
    # .6*.75*.9 + .4*.75*.5 + .6*.25*.3 + .4*.25*.1 = .405 + .15 + .045 + .01 = .61
    nodes = np.array([[0.9], [0.5], [0.3], [0.1]], dtype=np.float32)
    model = InkModel(np.array([0.0, 1.0]), np.zeros(2), 1.0, nodes)
    assert model.spectra([[0.4, 0.25]]).item() == pytest.approx(0.61, abs=1e-6)


@pytest.mark.source("Saunderson1942", "equation")
@pytest.mark.memory
def test_saunderson() -> None:
    assert through_surface(0.5, 0.04, 0.6).item() == pytest.approx(0.314286, abs=5e-7)
    assert under_surface(0.314286, 0.04, 0.6).item() == pytest.approx(0.5, abs=1e-5)
