"""Properties of the deficit: never negative, falling with distance and pixels; sizes, distances, the trade's facts."""

from __future__ import annotations

import math
import runpy
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallworthy.appraise.eye import RANGES, SHARP, Seeing, Transfer, deficit, deficits, parameter_sets
from wallworthy.appraise.grade import (
    LIMITS,
    File,
    Grade,
    deficit_at,
    grade_of,
    interval,
    ladder,
    largest_size,
    nearest_distance,
    others,
    setting_of,
)
from wallworthy.base.records import Light

pytestmark = pytest.mark.practice

ROOT = Path(__file__).resolve().parents[2]
PAGE: dict[str, Any] = runpy.run_path(str(ROOT / "scripts" / "pages" / "deficit.py"))
MODEL = Seeing()


def sharp(megapixels: float) -> File:
    width = math.sqrt(megapixels * 1.5e6)
    return File((round(width), round(width / 1.5)), SHARP)


def blurred(sigma_px: float) -> Transfer:
    f = np.linspace(0, 0.5, 51)
    return Transfer(tuple(float(v) for v in np.sinc(f) * np.exp(-2 * (math.pi * sigma_px * f) ** 2)))


@given(
    ppi=st.floats(5, 2000),
    edge=st.floats(20, 5000),
    distance=st.floats(30, 20000),
    sigma=st.floats(0, 4),
    strength=st.floats(0.5, 2),
)
def test_a_deficit_is_never_negative_and_overshoot_is_told_apart(
    ppi: float, edge: float, distance: float, sigma: float, strength: float
) -> None:
    transfer = Transfer(tuple(v * strength for v in blurred(sigma).modulation[1:]))
    seen = deficit(transfer, ppi, (edge, edge * 0.7), distance)
    assert seen.deficit_jnd >= 0
    assert seen.overshoot_jnd >= 0


def test_exaggerated_detail_is_overshoot_not_negative_deficit() -> None:
    crisp = Transfer(
        tuple(min(1.5, 1 + 2 * f) * v for f, v in zip(np.linspace(0, 0.5, 51), SHARP.modulation, strict=True))
    )
    seen = deficit(crisp, 300, (420, 280), 510)
    assert seen.overshoot_jnd > 0.2
    assert seen.deficit_jnd <= deficit(SHARP, 300, (420, 280), 510).deficit_jnd


@given(megapixels=st.floats(0.5, 100), distance=st.floats(100, 5000))
def test_more_pixels_and_more_distance_never_lose_more(megapixels: float, distance: float) -> None:
    size = (450.0, 300.0)
    here = deficit_at(sharp(megapixels), size, distance, MODEL)
    assert deficit_at(sharp(1.3 * megapixels), size, distance, MODEL) <= here + 0.06
    assert deficit_at(sharp(megapixels), size, 1.3 * distance, MODEL) <= here + 0.06


def test_a_softer_file_loses_more() -> None:
    lost = [deficit(blurred(sigma), 250, (420, 280), 510).deficit_jnd for sigma in (0, 0.5, 1, 2, 4)]
    assert lost == sorted(lost)
    assert lost[-1] > lost[0] + 5


@pytest.mark.parametrize("grade", list(LIMITS))
def test_sizes_and_distances_stand_where_the_grade_ends(grade: Grade) -> None:
    file, limit = sharp(8), LIMITS[grade]
    width, height = largest_size(file, 800, MODEL, grade)
    assert width / height == pytest.approx(1.5, rel=1e-3)
    assert deficit_at(file, (width, height), 800, MODEL) == pytest.approx(limit, rel=0.05)
    near = nearest_distance(file, (1500, 1000), MODEL, grade)
    assert deficit_at(file, (1500, 1000), near, MODEL) == pytest.approx(limit, rel=0.05)


def test_the_interval_holds_the_figure_and_narrows_with_what_is_known() -> None:
    file = sharp(8)
    wide = interval(file, (420, 280), 300, setting_of(None, None))
    light = Light("lamp", 500, (450, 550), 3000, 0.0, "dim", 135.0)
    known = setting_of(light, "gloss", paper_mtf50_per_mm=6.1)
    narrow = interval(file, (420, 280), 300, known)
    assert narrow[0] <= deficit_at(file, (420, 280), 300, known.model) <= narrow[1]
    assert wide[0] <= deficit_at(file, (420, 280), 300, MODEL) <= wide[1]
    assert narrow[1] - narrow[0] < wide[1] - wide[0]
    doubtful = interval(File(file.size_px, file.transfer, 0.25), (420, 280), 300, known)
    assert doubtful[1] - doubtful[0] > narrow[1] - narrow[0]


def test_a_brighter_light_shows_more() -> None:
    size, file = (420.0, 280.0), sharp(6)
    dim, bright = (Light("l", lux, (lux, lux), None, 0.0, "dim", 0.85 * lux / math.pi) for lux in (50.0, 2000.0))
    assert deficit_at(file, size, 400, setting_of(bright, None).model) > deficit_at(
        file, size, 400, setting_of(dim, None).model
    )


def test_rougher_paper_hides_a_softer_file() -> None:
    size, file = (420.0, 280.0), sharp(8)
    lost = [deficit_at(file, size, 250, setting_of(None, surface).model) for surface in ("gloss", "matt", "canvas")]
    assert lost == sorted(lost, reverse=True)


def test_the_ladder_has_every_size_with_grade_and_distance() -> None:
    rungs = ladder(File((3000, 4000), SHARP), MODEL)
    assert len(rungs) == 9
    assert rungs[0].size_mm == pytest.approx((100, 133.33), abs=0.01)
    assert max(rungs[-1].size_mm) == pytest.approx(1333.3, abs=0.1)
    for rung in rungs:
        assert rung.grade is grade_of(rung.deficit_jnd)
        assert rung.nearest_good_distance_mm >= 250
        assert rung.distance_mm == pytest.approx(max(250, math.hypot(*rung.size_mm)))


def test_what_another_master_would_bring() -> None:
    file = sharp(3)
    found = {other.megapixels: other for other in others(file, (900, 600), 500, MODEL)}
    assert list(found) == [12, 24, 45, 100]
    gains = [other.gain_jnd for other in found.values()]
    assert gains == sorted(gains)
    assert found[24].gain_jnd == pytest.approx(
        deficit_at(file, (900, 600), 500, MODEL) - deficit_at(sharp(24), (900, 600), 500, MODEL), abs=0.02
    )


def test_the_trades_facts_hold_in_every_parameter_set() -> None:
    facts = list(PAGE["trade_facts"]().values())
    assert min(len(values) for values in facts) >= 100
    assert facts[0].max() < 1
    assert facts[1].max() < 1
    assert facts[2].min() > 5


def test_parameter_sets_lie_in_their_ranges_and_are_always_the_same() -> None:
    sets = parameter_sets(RANGES, 100)
    assert sets == parameter_sets(RANGES, 100)
    for name, (low, high) in RANGES.items():
        values = [getattr(one, name) for one in sets]
        assert low <= min(values) < max(values) <= high
    lost, over = deficits(SHARP, 200, (420, 280), 510, sets)
    assert lost.shape == over.shape == (100,)
