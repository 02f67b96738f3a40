"""The four standard ways equal littleCMS's own unoptimised conversions, whatever the master and the paper."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from support.synthetic_profile import synthetic_profile
from support.ways import away_from_the_cmm, device_values
from wallworthy.base.records import Way
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.icc.standard import display_p3_profile, lab_profile, srgb_profile

STANDARD = [way for way in Way if not way.is_chosen]
MASTERS = ["gs_srgb", "gs_romm", "gs_a98", "lstar_rgb", "gs_gray", "gs_cmyk", "fogra39", "gs_lab"]
OUTPUTS = ["fogra39", "gs_cmyk", "vips_cmyk", "gs_ps_cmyk"]

# Uncoated steps of a steep table: its A2B turns a CMYK difference of 3e-5 into 0.2 dE00 near black.
LARGEST = {"gs_ps_cmyk": 0.25}


@pytest.mark.source("littleCMS", "cmsDoTransform, NOOPTIMIZE, with the flag for black point compensation")
@pytest.mark.parametrize("way", STANDARD)
@pytest.mark.parametrize("output", OUTPUTS)
@pytest.mark.parametrize("master", MASTERS)
def test_a_way_equals_the_cmm(master: str, output: str, way: Way, published_profile: Callable[[str], bytes]) -> None:
    source, target = parse_profile(published_profile(master)), parse_profile(published_profile(output))
    away = away_from_the_cmm(source, target, way, device_values(source, 4000))
    assert away.mean() <= 0.001
    assert away.max() <= LARGEST.get(output, 0.02)


@pytest.mark.source("littleCMS", "cmsDoTransform, NOOPTIMIZE, version 4 profiles")
@pytest.mark.parametrize("way", STANDARD)
@pytest.mark.parametrize("output", [srgb_profile, display_p3_profile])
def test_a_way_into_a_matrix_space_equals_the_cmm(
    way: Way, output: Callable[[], bytes], published_profile: Callable[[str], bytes]
) -> None:
    source, target = parse_profile(published_profile("gs_cmyk")), parse_profile(output())
    away = away_from_the_cmm(source, target, way, device_values(source, 4000))
    assert away.mean() <= 0.001
    assert away.max() <= 0.02


def tinted(space: str, black: tuple[float, float, float], version: int) -> Profile:
    """A printer whose black is `black`: bright by the mean of its lights (or missing inks), tinted by the rest."""
    channels = {"RGB": 3, "CMYK": 4, "6CLR": 6}[space]
    start, white = np.array(black), np.array([100.0, 0.0, 0.0])

    def device_to_lab(device: np.ndarray) -> np.ndarray:
        light = device if space == "RGB" else 1 - device
        mean = light.mean(axis=1, keepdims=True)
        red_green = (light[:, 0] - light[:, 1]) * mean[:, 0] * 60
        yellow_blue = (light[:, 1] - light[:, 2]) * mean[:, 0] * 60
        return start + (white - start) * mean + np.stack([0 * red_green, red_green, yellow_blue], axis=1)

    def lab_to_device(lab: np.ndarray) -> np.ndarray:
        mean = np.clip((lab[:, :1] - start[0]) / (100 - start[0]), 0, 1)
        shift = np.stack([lab[:, 1], lab[:, 2] - lab[:, 1], -lab[:, 2]], axis=1) / 300
        light = np.clip(mean + np.pad(shift, ((0, 0), (0, channels - 3))), 0, 1)
        return light if space == "RGB" else 1 - light

    nodes = {"RGB": 17, "CMYK": 9, "6CLR": 4}[space]
    data = synthetic_profile(space, device_to_lab, lab_to_device, version=version, a2b_nodes=nodes, b2a_nodes=17)
    return parse_profile(data)


@pytest.mark.source("littleCMS", "cmsDoTransform, NOOPTIMIZE; blacks by the darkest colorant keep their tint")
@pytest.mark.parametrize("version", [2, 4])
@pytest.mark.parametrize("black", [(12, 4, -6), (60, 4, -6), (20, 60, -70), (0, 5, 5)])
@pytest.mark.parametrize("space", ["RGB", "CMYK", "6CLR"])
def test_tinted_blacks_and_many_inks_equal_the_cmm(space: str, black: tuple[float, float, float], version: int) -> None:
    printer, screen = tinted(space, black, version), parse_profile(srgb_profile())
    for source in (screen, printer):
        for way in STANDARD:
            away = away_from_the_cmm(source, printer, way, device_values(source, 800))
            assert away.max() <= 0.02, (source.space, way)


@pytest.mark.source("littleCMS", "cmsDoTransform, NOOPTIMIZE, from a Lab profile")
@pytest.mark.parametrize("way", STANDARD)
def test_our_own_lab_profile_is_a_source_without_black(way: Way, published_profile: Callable[[str], bytes]) -> None:
    source, target = parse_profile(lab_profile()), parse_profile(published_profile("fogra39"))
    assert away_from_the_cmm(source, target, way, device_values(source, 4000)).max() <= 0.02
