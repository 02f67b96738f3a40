"""What is measured of a condition, for papers whose answer is known."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from support.synthetic_profile import synthetic_profile
from wallworthy.base.records import ConditionFacts
from wallworthy.icc.measure import measure_condition
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile

pytestmark = pytest.mark.practice


def test_an_even_printer_is_measured_as_it_is() -> None:
    """L* 20 to 100 and a tint of 2 in a*, on paper of Y 0.81 that is neutral: all figures follow by hand."""
    span = np.array([80.0, 60.0, 60.0])
    low = np.array([20.0, -28.0, -30.0])

    def device_to_lab(rgb: np.ndarray) -> np.ndarray:
        mean = rgb.mean(axis=1)
        lab = low + np.stack([mean, 0.5 + rgb[:, 0] - rgb[:, 1], 0.5 + rgb[:, 1] - rgb[:, 2]], axis=1) * span
        return np.where((mean == 1)[:, None], [100.0, 0, 0], lab)

    def lab_to_device(lab: np.ndarray) -> np.ndarray:
        return np.clip(np.repeat((lab[:, :1] - 20) / 80, 3, axis=1), 0, 1)

    white = tuple(0.81 * v for v in (0.9642, 1.0, 0.8249))
    profile = parse_profile(
        synthetic_profile("RGB", device_to_lab, lab_to_device, white=white, a2b_nodes=33, b2a_nodes=33)
    )
    facts = measure_condition(profile)
    assert facts.white_lab == pytest.approx((116 * 0.81 ** (1 / 3) - 16, 0, 0), abs=0.01)
    black_y = 0.81 * ((20 + 16) / 116) ** 3
    assert facts.black_lab[0] == pytest.approx(116 * black_y ** (1 / 3) - 16, abs=0.01)
    assert facts.density_y == pytest.approx(-np.log10(black_y), abs=1e-3)
    assert facts.range_stops == pytest.approx(np.log2(0.81 / black_y), abs=1e-2)
    assert facts.neutral_tint_ab == pytest.approx((2, 0), abs=0.05)
    assert facts.device_space == "RGB"


def test_fogra39(published_profile: Callable[[str], bytes]) -> None:
    facts = measure_condition(parse_profile(published_profile("fogra39")))
    # Bare paper of FOGRA39: 95, 0, -2.
    assert facts.white_lab == pytest.approx((95, 0, -2), abs=0.02)
    assert facts.intents == ("perceptual", "relative", "saturation")
    assert 10 < facts.black_lab[0] < 13
    assert facts.roundtrip_mean_de00 < 0.5
    assert facts.roundtrip_mean_de00 < facts.roundtrip_p95_de00 < 2
    assert 4.4e5 < facts.gamut_volume_lab3 < 4.7e5


@pytest.mark.parametrize("name", ["gs_cmyk", "vips_cmyk", "gs_ps_cmyk", "gs_srgb"])
def test_facts_are_finite_and_repeat(name: str, published_profile: Callable[[str], bytes]) -> None:
    profile = parse_profile(published_profile(name))
    facts = measure_condition(profile)
    numbers = [*facts.white_lab, *facts.black_lab, *facts.neutral_tint_ab, facts.density_y, facts.range_stops]
    assert np.isfinite([*numbers, facts.roundtrip_p95_de00, facts.gamut_volume_lab3]).all()
    assert facts == measure_condition(profile)
    assert isinstance(facts, ConditionFacts)


def test_a_screen_space_comes_back_whole() -> None:
    facts = measure_condition(parse_profile(srgb_profile()))
    assert facts.roundtrip_p95_de00 < 0.05
    assert facts.white_lab == pytest.approx((100, 0, 0), abs=0.05)
