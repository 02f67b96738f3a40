"""Black and white: neutral along the ramp, smooth near black, the same for every hue, and tones as they are named."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from wallworthy.base.errors import InputError
from wallworthy.base.records import Correction, Way
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.working import lab_to_working, working_to_lab
from wallworthy.fit.compose import direct
from wallworthy.fit.greys import TONES, Greys, greys_for, in_grey, tone_of
from wallworthy.fit.ways import Source, lab_to_device, source_of
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import Profile, parse_profile

pytestmark = pytest.mark.practice

RAMP = np.repeat(np.linspace(0, 1, 401, dtype=np.float32)[:, None], 3, axis=1)
LSTAR = np.linspace(0, 100, 201).astype(np.float32)


@pytest.fixture(params=["fogra39", "gs_cmyk", "vips_cmyk"])
def press(request: pytest.FixtureRequest, published_profile: Callable[[str], bytes]) -> Profile:
    return parse_profile(published_profile(request.param))


def source(tone: str | None, output: Profile) -> Source:
    plain = source_of(None)
    return Source(plain.black_lab, plain.white_xyz, greys=None if tone is None else greys_for(tone, output))


def printed(output: Profile, tone: str | None, pixels: np.ndarray, way: Way = Way.RELATIVE_BPC) -> np.ndarray:
    return np.asarray(to_lab(output, direct(output, way, Correction(), source(tone, output))(pixels)), dtype=np.float64)


@pytest.mark.parametrize("way", [Way.RELATIVE_BPC, Way.RELATIVE, Way.PERCEPTUAL])
def test_greys_are_neutral_along_the_ramp(press: Profile, way: Way) -> None:
    lab = printed(press, "neutral", RAMP, way)
    neutral = lab * [1, 0, 0]
    greys = greys_for("neutral", press)
    above = lab[:, 0] > greys.black_lstar + 12
    assert ciede2000(lab, neutral)[above].mean() < 0.4
    assert ciede2000(lab, neutral)[above].max() < 1.1
    before = printed(press, None, RAMP, way)
    assert ciede2000(lab, neutral)[above].mean() < ciede2000(before, before * [1, 0, 0])[above].mean()


def test_greys_are_smooth_near_black(press: Profile) -> None:
    """No step of the ramp, and no bend of its tint, that one could see; tones never turn round."""
    lab = printed(press, "neutral", RAMP)
    dark = lab[:, 0] < 40
    assert np.diff(lab[:, 0]).min() > -0.05
    assert ciede2000(lab[1:], lab[:-1]).max() < 0.6
    assert np.abs(np.diff(lab[dark][:, 1:], n=2, axis=0)).max() < 0.5


def test_only_lightness_decides(press: Profile) -> None:
    """Colours of one L*, whatever their hue, give the same inks."""
    lab = np.array([[45, 0, 0], [45, 30, 20], [45, -25, 10], [45, 5, -40]], dtype=np.float64)
    pixels = lab_to_working(lab).astype(np.float32)
    device = direct(press, Way.RELATIVE_BPC, Correction(), source("split", press))(pixels)
    assert np.ptp(device, axis=0).max() < 0.01
    assert working_to_lab(in_grey(pixels))[:, 0] == pytest.approx([45] * 4, abs=0.01)
    assert np.abs(working_to_lab(in_grey(pixels))[:, 1:]).max() < 0.01


def test_paper_stays_bare_and_black_stays_black(press: Profile) -> None:
    for tone in TONES:
        lab = printed(press, tone, RAMP[[0, -1]])
        assert ciede2000(lab[1], np.array([100.0, 0, 0])) < 0.6
        plain = printed(press, None, RAMP[[0]])[0]
        assert lab[0, 0] < plain[0] + 1.5


def test_tones_are_what_they_are_called(press: Profile) -> None:
    middle = {tone: printed(press, tone, RAMP[[100, 200, 300]]) for tone in TONES}
    assert (middle["paper-warm"][:, 2] > middle["neutral"][:, 2] + 1).all()
    assert (middle["cool"][:, 2] < middle["neutral"][:, 2] - 1).all()
    dark, light = middle["split"][0, 2], middle["split"][2, 2]
    assert dark < middle["neutral"][0, 2]
    assert light > middle["neutral"][2, 2] + 1


@pytest.mark.parametrize("tone", TONES)
def test_tints_begin_and_end_at_nothing_and_never_jump(tone: str) -> None:
    tint = Greys(tone, 10.0, (0.0, 0.0)).tint(LSTAR)
    assert np.abs(tint[:, LSTAR <= 10]).max() == 0
    assert np.abs(tint[:, -1]).max() < 1e-5
    assert np.abs(np.diff(tint, axis=1)).max() < 0.25
    asked = max(max(np.abs(dark).max(), np.abs(light).max()) for dark, light in [TONES[tone]])
    assert np.abs(tint).max() == pytest.approx(asked, abs=0.02)


def test_a_correction_still_tints(press: Profile) -> None:
    """A verdict of 'too green' must be able to act on greys too."""
    pixels = RAMP[[200]]
    redder = direct(press, Way.RELATIVE_BPC, Correction(green_red=3), source("neutral", press))(pixels)
    assert to_lab(press, redder)[0, 1] > printed(press, "neutral", pixels)[0, 1] + 1.5


def test_lab_to_device_takes_the_same_way(press: Profile) -> None:
    lab = np.array([[30.0, 0, 0], [60.0, 0, 0]])
    asked = lab_to_device(press, Way.RELATIVE_BPC, source("cool", press))(lab)
    straight = direct(press, Way.RELATIVE_BPC, Correction(), source("cool", press))(
        lab_to_working(lab).astype(np.float32)
    )
    assert ciede2000(to_lab(press, asked), to_lab(press, straight)).max() < 0.1


def test_an_unknown_tone_is_refused_in_a_sentence() -> None:
    assert tone_of(" Paper warm ") == "paper-warm"
    with pytest.raises(InputError, match="no tone"):
        tone_of("sepia")
