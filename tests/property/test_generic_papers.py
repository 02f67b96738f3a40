"""Generic papers: what a guess must still keep."""

from __future__ import annotations

from inspect import unwrap
from pathlib import Path

import numpy as np
import pytest

from wallworthy.base.errors import InputError
from wallworthy.characterise import generic
from wallworthy.characterise.build import roundtrip_de00
from wallworthy.characterise.generic import GenericPaper, generic_paper, generic_profile
from wallworthy.icc.engine import from_lab, to_lab
from wallworthy.icc.gamut import surface
from wallworthy.icc.read import Profile, parse_profile, require_output

pytestmark = pytest.mark.practice

SURFACES = ["gloss", "lustre", "matt"]


@pytest.fixture(scope="module")
def profiles() -> dict[str, bytes]:
    return {name: generic_profile(name) for name in SURFACES}


@pytest.mark.parametrize("name", SURFACES)
def test_it_is_labelled_a_guess_and_usable(name: str, profiles: dict[str, bytes]) -> None:
    profile = parse_profile(profiles[name])
    require_output(profile)
    assert profile.description == f"Generic {name} paper (a guess)"
    assert profile.space == "RGB"


def test_same_bytes_each_time(profiles: dict[str, bytes]) -> None:
    assert unwrap(generic_profile)("matt") == profiles["matt"]


@pytest.mark.parametrize(("name", "density"), [("gloss", 2.3), ("lustre", 2.2), ("matt", 1.65)])
def test_white_and_black_are_as_stated(name: str, density: float, profiles: dict[str, bytes]) -> None:
    profile = parse_profile(profiles[name])
    white = to_lab(profile, [[1.0, 1.0, 1.0]], "absolute")[0]
    assert white[0] == pytest.approx(95.75, abs=0.3)
    black = to_lab(profile, [[0.0, 0.0, 0.0]], "absolute")[0]
    fy = (float(black[0]) + 16) / 116
    y = fy**3 if black[0] > 8 else float(black[0]) * 27 / 24389
    assert -np.log10(y) == pytest.approx(density, abs=0.005)


@pytest.mark.parametrize("name", SURFACES)
def test_equal_rgb_prints_neutral_and_rises(name: str) -> None:
    paper: GenericPaper = generic_paper(name)
    lab = paper(np.repeat(np.linspace(0, 1, 256)[:, None], 3, axis=1))
    assert np.abs(lab[:, 1:]).max() < 0.01
    assert np.diff(lab[:, 0]).min() > 0
    assert lab[-1] == pytest.approx([100, 0, 0], abs=1e-6)


@pytest.mark.parametrize("name", SURFACES)
@pytest.mark.parametrize("intent", ["relative", "perceptual", "saturation"])
def test_neutral_ramp_and_bare_paper(name: str, intent: str, profiles: dict[str, bytes]) -> None:
    profile = parse_profile(profiles[name])
    ramp = np.zeros((256, 3), np.float32)
    ramp[:, 0] = np.linspace(0, 100, 256)
    device = from_lab(profile, ramp, intent)
    assert device[-1].tolist() == [1.0, 1.0, 1.0]
    printed = to_lab(profile, device)
    assert np.diff(printed[:, 0]).min() >= -0.01
    assert np.abs(printed[:, 1:]).max() <= 0.5


@pytest.mark.parametrize("name", SURFACES)
def test_there_and_back(name: str, profiles: dict[str, bytes]) -> None:
    error = roundtrip_de00(profiles[name])
    assert error.mean() <= 0.1
    assert np.percentile(error, 95) <= 0.35


def test_matt_holds_less_than_lustre_and_lustre_less_than_gloss(profiles: dict[str, bytes]) -> None:
    read: dict[str, Profile] = {name: parse_profile(data) for name, data in profiles.items()}
    volumes = [surface(read[name]).volume_lab3 for name in SURFACES]
    assert volumes[0] > volumes[1] > 1.2 * volumes[2]


def test_unknown_surface_is_refused() -> None:
    with pytest.raises(InputError, match="no generic paper"):
        generic_profile("silk")  # type: ignore[arg-type]


def test_the_numbers_say_that_they_have_no_source() -> None:
    numbers = Path(generic.__file__).with_name("generic.toml").read_text("utf-8")
    assert "common practice, no source" in numbers
