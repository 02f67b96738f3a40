"""Lux from a photo of a blank sheet: the reflected-light relation, and what is said of its error."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from support.printed import printed_rows
from wallworthy.base.errors import InputError
from wallworthy.proof.exposure import METER_K, METER_K_RANGE, factor_of_error, metered_luminance_cd_m2, sheet_light

ROWS = printed_rows(Path(__file__).with_name("ISO2720.csv"))
FACTS = {"exposure": "1/60 s", "aperture": "f/4", "iso": "200"}


@pytest.mark.source("ISO2720", "reflected-light relation, second-hand")
@pytest.mark.parametrize("row", ROWS, ids=[row["f_number"] + " at " + row["seconds"] for row in ROWS])
def test_the_luminance_that_settings_are_for(row: dict[str, str]) -> None:
    found = metered_luminance_cd_m2(float(row["f_number"]), float(row["seconds"]), float(row["speed"]))
    assert found == pytest.approx(float(row["luminance_cd_m2"]), abs=0.5)
    assert METER_K_RANGE[0] <= METER_K <= METER_K_RANGE[1]


@pytest.mark.source("ISO2720", "reflected-light relation, with Lambert's law")
def test_a_sheet_in_known_light_gives_its_lux_back() -> None:
    """A sheet of 85 % under 300 lux, placed by the meter in the middle of the scale."""
    lit = 0.85 * 300 / math.pi
    seconds = 12.5 * 16 / (200 * lit)
    facts = {**FACTS, "exposure": f"1/{1 / seconds:.6f} s"}
    even = np.full((60, 80), 0.18)
    assert sheet_light(even, facts).illuminance_lx == pytest.approx(300, rel=1e-4)
    assert sheet_light(2 * even, facts).illuminance_lx == pytest.approx(600, rel=1e-4)


@pytest.mark.practice
def test_the_error_is_stated_and_grows_away_from_the_middle() -> None:
    assert 1.5 < factor_of_error(0.18) < 2.5
    assert factor_of_error(0.18) < factor_of_error(0.4) < factor_of_error(0.8)
    assert factor_of_error(0.18) < factor_of_error(0.05)


@pytest.mark.practice
@pytest.mark.parametrize(
    ("change", "level", "code"),
    [
        ({"iso": ""}, 0.2, "exposure_unknown"),
        ({"aperture": ""}, 0.2, "exposure_unknown"),
        ({}, 0.97, "sheet_level"),
        ({}, 0.001, "sheet_level"),
    ],
)
def test_photos_that_tell_nothing_are_refused(change: dict[str, str], level: float, code: str) -> None:
    with pytest.raises(InputError) as refusal:
        sheet_light(np.full((40, 40), level), {**FACTS, **change})
    assert refusal.value.code == code


@pytest.mark.practice
def test_a_picture_of_something_else_is_refused() -> None:
    scene = np.tile(np.linspace(0.02, 0.8, 80), (60, 1))
    with pytest.raises(InputError, match="evenly lit"):
        sheet_light(scene, FACTS)
