"""Tables for whole pictures against the colour engine itself, whose rounding alone may lie between the two."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from support.synthetic_profile import synthetic_profile
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.icc import quick
from wallworthy.icc.engine import Intent, from_lab, to_lab
from wallworthy.icc.read import Profile, parse_profile

Load = Callable[[str], bytes]
COUNT = 60_000


def asked() -> np.ndarray:
    """Colours of all lightness and far beyond every paper."""
    return np.random.default_rng(5).uniform([0, -110, -110], [100, 110, 110], (COUNT, 3)).astype(np.float32)


def rgb_printer(version: int) -> Profile:
    def device_to_lab(device: np.ndarray) -> np.ndarray:
        mean = device.mean(axis=1)
        sides = 70 * np.stack([device[:, 0] - device[:, 1], device[:, 1] - device[:, 2]], axis=1)
        return np.concatenate([(8 + 92 * mean**1.4)[:, None], sides], axis=1)

    def lab_to_device(lab: np.ndarray) -> np.ndarray:
        mean = np.clip((lab[:, :1] - 8) / 92, 0, 1) ** (1 / 1.4)
        shift = np.stack([lab[:, 1], lab[:, 2] - lab[:, 1], -lab[:, 2]], axis=1) / 210
        return np.clip(mean + shift, 0, 1)

    made = synthetic_profile("RGB", device_to_lab, lab_to_device, version=version, a2b_nodes=17, b2a_nodes=17)
    return parse_profile(made)


@pytest.mark.source("littleCMS", "cmsDoTransform, NOOPTIMIZE, into table profiles")
@pytest.mark.parametrize("intent", ["relative", "perceptual"])
@pytest.mark.parametrize("paper", ["fogra39", "gs_cmyk", "vips_cmyk"])
def test_device_values_are_the_engines(paper: str, intent: Intent, published_profile: Load) -> None:
    profile, lab = parse_profile(published_profile(paper)), asked()
    assert quick.is_quick(profile, "B2A", intent)
    off = np.abs(quick.print_device(profile, lab, intent) - from_lab(profile, lab, intent))
    assert off.mean() <= 5e-5
    assert off.max() <= 1e-3
    bare = quick.print_device(profile, [[100.0, 0.0, 0.0]], intent)
    assert np.abs(bare - from_lab(profile, [[100.0, 0.0, 0.0]], intent)).max() <= 2e-5


@pytest.mark.source("littleCMS", "cmsDoTransform, NOOPTIMIZE, out of table profiles")
@pytest.mark.parametrize("version", [2, 4])
def test_an_rgb_printers_both_ways_are_the_engines(version: int) -> None:
    profile = rgb_printer(version)
    assert quick.is_quick(profile, "A2B", "relative")
    assert quick.is_quick(profile, "B2A", "relative")
    device = np.random.default_rng(6).random((200, 300, 3), dtype=np.float32)
    got, expected = quick.print_lab(profile, device), to_lab(profile, device)
    assert got.shape == expected.shape
    assert ciede2000(got, expected).mean() <= 0.003
    assert ciede2000(got, expected).max() <= 0.02
    lab = asked()
    assert np.abs(quick.print_device(profile, lab) - from_lab(profile, lab)).max() <= 1e-3


@pytest.mark.source("littleCMS", "cmsDoTransform, NOOPTIMIZE")
@pytest.mark.parametrize("name", ["gs_ps_cmyk", "gs_srgb"])
def test_other_profiles_go_through_the_engine(name: str, published_profile: Load) -> None:
    profile, lab = parse_profile(published_profile(name)), asked()
    assert not quick.is_quick(profile, "A2B", "perceptual")
    device = np.random.default_rng(7).random((5000, profile.channels), dtype=np.float32)
    assert np.array_equal(quick.print_lab(profile, device), to_lab(profile, device))
    assert np.array_equal(quick.print_device(profile, lab, "perceptual"), from_lab(profile, lab, "perceptual"))


@pytest.mark.source("littleCMS", "cmsDoTransform, NOOPTIMIZE")
def test_a_table_that_differs_from_the_engine_is_not_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(quick, "NEAR_LAB", (0.0, 0.0))
    quick.forget()
    profile, device = rgb_printer(2), np.random.default_rng(8).random((5000, 3), dtype=np.float32)
    try:
        assert not quick.is_quick(profile, "A2B", "relative")
        assert np.array_equal(quick.print_lab(profile, device), to_lab(profile, device))
    finally:
        quick.forget()
