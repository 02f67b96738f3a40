"""How far the public FOGRA39 profile lies from its own data: figures computed outside this project, printed nowhere."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from wallworthy.characterise.measurements import read_measurements
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import relative_to_absolute
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import parse_profile


@pytest.mark.source("littleCMS", "2.14, A2B1 absolute against FOGRA39L's 1617 patches: mean, 95 %, largest dE00")
def test_the_distance_is_the_one_found_by_another_door(
    published_profile: Callable[[str], bytes], published_data: Callable[[str], Path]
) -> None:
    profile = parse_profile(published_profile("fogra39"))
    data = read_measurements(published_data("FOGRA39L.ti3"))
    errors = ciede2000(relative_to_absolute(to_lab(profile, data.device), profile.white_xyz), data.lab)
    figures = errors.mean(), np.quantile(errors, 0.95), errors.max()
    assert figures == pytest.approx((0.019, 0.045, 0.398), abs=1.5e-3)
