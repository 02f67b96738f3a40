"""Our standard spaces against the numbers their standards print."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from support.printed import printed_rows
from wallworthy.icc.read import parse_profile, read_tag_curve, read_tag_xyz, tag_span
from wallworthy.icc.standard import display_p3_profile, srgb_profile, wide_profile

TABLE = Path(__file__).with_name("IEC61966_rgb_to_xyz.csv")
IEC_MATRIX = np.array([[float(row[ink]) for ink in "rgb"] for row in printed_rows(TABLE)])
HALF_A_DIGIT = 0.5e-4
STORED = 2e-5
"""What s15Fixed16 colorants and adaptation lose on the way to the file and back."""


def colorants(data: bytes) -> np.ndarray:
    profile = parse_profile(data)
    return np.array([read_tag_xyz(profile, f"{ink}XYZ") for ink in "rgb"]).T


@pytest.mark.source("IEC61966", "section 5, matrix")
def test_srgb_matrix_without_the_adaptation() -> None:
    profile = parse_profile(srgb_profile())
    adaptation = np.array(tag_span(profile, "chad").s15(8, 9)).reshape(3, 3)
    assert np.linalg.inv(adaptation) @ colorants(srgb_profile()) == pytest.approx(IEC_MATRIX, abs=HALF_A_DIGIT + STORED)


@pytest.mark.source("IEC61966", "section 5, transfer function")
def test_srgb_curve() -> None:
    curve = read_tag_curve(parse_profile(srgb_profile()), "gTRC")
    signal = np.linspace(0, 1, 1001)
    linear = np.where(signal <= 0.04045, signal / 12.92, ((signal + 0.055) / 1.055) ** 2.4)
    assert curve(signal) == pytest.approx(linear, abs=1e-5)


@pytest.mark.source("ISO22028", "ROMM transfer function")
@pytest.mark.memory
def test_wide_space_curve() -> None:
    curve = read_tag_curve(parse_profile(wide_profile()), "gTRC")
    signal = np.linspace(0, 1, 1001)
    linear = np.where(signal < 16 / 512, signal / 16, signal**1.8)
    assert curve(signal) == pytest.approx(linear, abs=1e-5)


@pytest.mark.source("ICC2022", "section 6.3.4: the white of a media-relative space is D50")
@pytest.mark.parametrize("data", [srgb_profile(), display_p3_profile(), wide_profile()])
def test_the_colorants_add_up_to_d50_to_the_last_bit(data: bytes) -> None:
    assert (colorants(data).sum(axis=1) * 65536).tolist() == [0xF6D6, 0x10000, 0xD32D]
