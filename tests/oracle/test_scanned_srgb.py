"""The read-back's sRGB against coloraide."""

from __future__ import annotations

import numpy as np
import pytest
from coloraide import Color

from wallworthy.trial.mishaps import srgb_lab, srgb_numbers
from wallworthy.trial.scanfile import srgb_light

NUMBERS = np.random.default_rng(7).random((40, 3)).round(3)


@pytest.mark.source("IEC61966", "transfer function, as coloraide computes it")
def test_signals_become_light() -> None:
    other = [Color("srgb", one).convert("srgb-linear").coords() for one in NUMBERS.tolist()]
    assert np.abs(srgb_light(NUMBERS.astype(np.float32)) - np.array(other)).max() < 1e-6


@pytest.mark.source("IEC61966", "primaries and white, D50 by Bradford, as coloraide computes them")
def test_numbers_and_lab_go_both_ways() -> None:
    other = np.array([Color("srgb", one).convert("lab").coords() for one in NUMBERS.tolist()])
    # The profile connection space's D50 has four digits, coloraide's comes from its chromaticity.
    assert np.abs(srgb_lab(NUMBERS) - other).max() < 0.05
    assert np.abs(srgb_numbers(other) - NUMBERS).max() < 2e-3
