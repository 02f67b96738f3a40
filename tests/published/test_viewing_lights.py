"""Viewing lights against the levels of ISO 3664, and paper white by Lambert's law."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from support.printed import printed_rows
from wallworthy.proof.lights import light_from, paper_white_cd_m2

ROWS = printed_rows(Path(__file__).with_name("ISO3664_lights.csv"))


@pytest.mark.source("ISO3664", "P1 and P2, second-hand")
@pytest.mark.parametrize("row", ROWS, ids=[row["words"] for row in ROWS])
def test_the_booths_are_the_standards_levels(row: dict[str, str]) -> None:
    light = light_from("booth", words=row["words"])
    assert light.illuminance_lx == float(row["illuminance_lx"])
    assert light.illuminance_interval_lx == (float(row["low_lx"]), float(row["high_lx"]))
    assert light.duv_from_d50 == 0


@pytest.mark.source("Lambert1760", "luminance of a perfectly diffusing surface, rho E / pi")
@pytest.mark.parametrize(
    ("lux", "reflectance", "printed"),
    [(500, 1.0, 159.2), (500, 0.9, 143.2), (500, 0.85, 135.3), (2000, 0.85, 541.1)],
)
def test_paper_white(lux: float, reflectance: float, printed: float) -> None:
    assert paper_white_cd_m2(lux, reflectance) == pytest.approx(printed, abs=0.05)
    assert paper_white_cd_m2(lux, reflectance) == pytest.approx(reflectance * lux / math.pi)


@pytest.mark.source("EN12464", "maintained illuminance: offices 500 lx, corridors and stairs 100 lx")
@pytest.mark.memory
@pytest.mark.parametrize(("words", "lux"), [("office", 500), ("hallway", 100), ("staircase", 100)])
def test_rooms_are_lit_as_the_standard_asks(words: str, lux: float) -> None:
    light = light_from("room", words=words)
    assert light.illuminance_lx == lux
    assert light.illuminance_interval_lx[0] <= lux <= light.illuminance_interval_lx[1]
