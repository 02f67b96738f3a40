"""The colours of our standard spaces against colour-science and coloraide, through littleCMS."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from coloraide import Color

from support.colour_science import colour
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.working import working_to_lab
from wallworthy.icc import engine
from wallworthy.icc.read import parse_profile, read_tag_xyz
from wallworthy.icc.standard import (
    display_p3_profile,
    grey_profile,
    lab_profile,
    srgb_profile,
    wide_profile,
    working_profile,
)
from wallworthy.icc.write import profile_id

RGB = np.random.default_rng(12).random((200, 3))
SRGB_COLORANTS_D50 = [(0.43603, 0.22244, 0.01390), (0.38510, 0.71694, 0.09708), (0.14307, 0.06062, 0.71393)]
"""colour-science 0.4.7: Bradford from D65 (0.3127, 0.3290) to the ICC's D50."""


def lab_of(data: bytes, device: np.ndarray) -> np.ndarray:
    return engine.to_lab(parse_profile(data), device, "relative")


@pytest.mark.source("ICC2022", "Annex E, Bradford; IEC 61966-2-1 primaries")
@pytest.mark.parametrize(("ink", "colorant"), list(zip("rgb", SRGB_COLORANTS_D50, strict=True)))
def test_srgb_colorants(ink: str, colorant: tuple[float, float, float]) -> None:
    assert read_tag_xyz(parse_profile(srgb_profile()), f"{ink}XYZ") == pytest.approx(colorant, abs=5e-5)


@pytest.mark.source("ICC2022", "Annex E, Bradford")
def test_srgb_colorants_are_those_of_a_published_profile(published_profile: Callable[[str], bytes]) -> None:
    # The widespread older profile took D65 as (0.9505, 1, 1.0891), so its blue has 0.00017 more Z.
    ours, theirs = parse_profile(srgb_profile()), parse_profile(published_profile("gs_srgb"))
    for ink in "rgb":
        tag = f"{ink}XYZ"
        assert read_tag_xyz(ours, tag) == pytest.approx(read_tag_xyz(theirs, tag), abs=2e-4)


@pytest.mark.source("IEC61966", "sRGB; the adaptation in coloraide")
@pytest.mark.parametrize(("data", "space"), [(srgb_profile(), "srgb"), (display_p3_profile(), "display-p3")])
def test_d65_spaces(data: bytes, space: str) -> None:
    theirs = np.array([Color(space, list(rgb)).convert("lab").coords() for rgb in RGB])
    assert ciede2000(lab_of(data, RGB), theirs).max() <= 0.03


@pytest.mark.source("ISO22028", "ROMM RGB in colour-science")
def test_the_wide_space_is_romm() -> None:
    linear = colour.models.cctf_decoding_ROMMRGB(RGB)
    xyz = linear @ colour.RGB_COLOURSPACES["ROMM RGB"].matrix_RGB_to_XYZ.T
    white = colour.xy_to_XYZ(colour.RGB_COLOURSPACES["ROMM RGB"].whitepoint)
    theirs = colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(white))
    # colour-science prints the matrix to four digits and takes D50 as (0.3457, 0.3585).
    assert ciede2000(lab_of(wide_profile(), RGB), theirs).max() <= 0.1


@pytest.mark.source("littleCMS", "matrix pipeline in floats")
def test_the_working_profile_is_the_working_encoding() -> None:
    assert ciede2000(lab_of(working_profile(), RGB), working_to_lab(RGB)).max() <= 0.01
    neutral = np.repeat(np.linspace(0, 1, 21)[:, None], 3, axis=1)
    assert lab_of(working_profile(), neutral)[:, 0] == pytest.approx(neutral[:, 0] * 100, abs=0.002)
    assert np.abs(lab_of(working_profile(), neutral)[:, 1:]).max() <= 0.002


@pytest.mark.source("littleCMS", "matrix pipeline in floats")
def test_grey_is_srgb_grey_and_lab_is_lab() -> None:
    grey = np.linspace(0, 1, 33)[:, None]
    assert lab_of(grey_profile(), grey) == pytest.approx(lab_of(srgb_profile(), np.repeat(grey, 3, 1)), abs=0.01)
    lab = RGB * [100, 160, 160] - [0, 80, 80]
    assert engine.to_lab(parse_profile(lab_profile()), lab, "perceptual") == pytest.approx(lab, abs=1e-3)


@pytest.mark.source("ICC2022", "section 7.2.18, profile ID; once compared with littleCMS's own")
@pytest.mark.parametrize("make", [display_p3_profile, working_profile, wide_profile, lab_profile])
def test_version_4_profiles_carry_their_fingerprint(make: Callable[[], bytes]) -> None:
    data = make()
    assert data[84:100] == profile_id(data) != bytes(16)
    # What a program may set afterwards does not change it.
    assert profile_id(data[:44] + b"\0\0\0\3" + data[48:64] + b"\0\0\0\1" + data[68:]) == data[84:100]
    assert srgb_profile()[84:100] == bytes(16)


@pytest.mark.practice
def test_same_bytes_every_time() -> None:
    makers = (srgb_profile, display_p3_profile, grey_profile, working_profile, wide_profile, lab_profile)
    before = [make() for make in makers]
    for make in makers:
        make.cache_clear()
    assert [make() for make in makers] == before
