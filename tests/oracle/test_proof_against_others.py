"""The proof's figures recomputed from its arrays by other libraries, and its picture by Pillow's littleCMS."""

from __future__ import annotations

import io
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image, ImageCms
from skimage.color import deltaE_ciede2000

from support.colour_science import colour
from support.proof_scenes import fitted, hard_places, picture_of, profile_named, srgb_display
from wallworthy.base.records import Correction
from wallworthy.colour.correction import correct
from wallworthy.colour.lab import absolute_to_relative, relative_to_absolute
from wallworthy.colour.working import working_to_lab
from wallworthy.icc.engine import to_lab
from wallworthy.icc.gamut import surface
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.proof.lights import light_from
from wallworthy.proof.screen import Screen, screen_of
from wallworthy.proof.soft import make_proof

Published = Callable[[str], bytes]

NOOPTIMIZE = 0x0100


@pytest.fixture(scope="module", params=["fogra39", "gs_cmyk"])
def output_name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def master_lab() -> np.ndarray:
    return working_to_lab(picture_of(hard_places()))


@pytest.mark.source("ScikitImage", "deltaE_ciede2000")
@pytest.mark.source("ColourScience", "delta_E CIE 2000")
def test_loss_can_be_recomputed(published_profile: Published, output_name: str) -> None:
    output = profile_named(published_profile, output_name)
    picture = picture_of(hard_places())
    proof = make_proof(picture, fitted(picture, output), output, srgb_display())
    relative = absolute_to_relative(proof.lab_absolute, output.white_xyz)
    by_skimage = deltaE_ciede2000(master_lab(), relative)
    by_colour = colour.delta_E(master_lab(), relative, method="CIE 2000")
    assert proof.loss == pytest.approx(by_skimage, abs=2e-3)
    for loss in (by_skimage, by_colour):
        assert proof.report.loss_mean_de00 == pytest.approx(loss.mean(), abs=5e-4)
        assert proof.report.loss_p95_de00 == pytest.approx(np.percentile(loss, 95), abs=2e-3)
        assert proof.report.loss_max_de00 == pytest.approx(loss.max(), abs=2e-3)


@pytest.mark.source("ScikitImage", "deltaE_ciede2000")
def test_each_place_is_as_bad_as_it_says(published_profile: Published, output_name: str) -> None:
    output = profile_named(published_profile, output_name)
    picture = picture_of(hard_places())
    proof = make_proof(picture, fitted(picture, output), output, srgb_display())
    loss = deltaE_ciede2000(master_lab(), absolute_to_relative(proof.lab_absolute, output.white_xyz))
    assert len(proof.report.worst) >= 2
    for place in proof.report.worst:
        row, column, height, width = place.box_px
        assert place.loss_mean_de00 == pytest.approx(loss[row : row + height, column : column + width].mean(), abs=2e-3)


@pytest.mark.source("ICC2022", "media-relative and ICC-absolute colorimetry")
def test_predicted_print_and_its_range(published_profile: Published, output_name: str) -> None:
    output = profile_named(published_profile, output_name)
    picture = picture_of(hard_places())
    device = fitted(picture, output)
    report = (proof := make_proof(picture, device, output, srgb_display())).report
    expected = relative_to_absolute(to_lab(output, device), output.white_xyz)
    assert np.abs(proof.lab_absolute - expected).max() <= 2e-3
    assert report.range_after_lstar == pytest.approx(np.percentile(expected[..., 0], (0.1, 99.9)), abs=0.01)
    assert report.range_before_lstar == pytest.approx(np.percentile(master_lab()[..., 0], (0.1, 99.9)), abs=0.01)


@pytest.mark.source("littleCMS", "through Pillow's ImageCms, unoptimised, 8 bits")
@pytest.mark.parametrize("paper_white", [False, True])
def test_the_screen_s_picture_within_a_code_value(
    published_profile: Published, output_name: str, paper_white: bool
) -> None:
    output = profile_named(published_profile, output_name)
    device = np.random.default_rng(5).integers(0, 256, (60, 80, 4), dtype=np.uint8)
    device[:30] = np.clip(device[:30], 0, 90)
    device[0] = 0
    proof = make_proof(
        np.full((60, 80, 3), 0.5, np.float32), device / np.float32(255), output, srgb_display(), paper_white=paper_white
    )
    # The display's white is D50 to the connection space, so that absolute and our rule are one.
    intent = ImageCms.Intent.ABSOLUTE_COLORIMETRIC if paper_white else ImageCms.Intent.RELATIVE_COLORIMETRIC
    transform = ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(io.BytesIO(output.data)),
        ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile())),
        "CMYK",
        "RGB",
        intent,
        NOOPTIMIZE,
    )
    expected = np.asarray(ImageCms.applyTransform(Image.fromarray(device, "CMYK"), transform)).astype(int)
    assert np.abs(proof.image.astype(int) - expected).max() <= 1


@pytest.mark.source("littleCMS", "unoptimised float transform")
@pytest.mark.parametrize("name", ["gs_srgb", "gs_a98", "gs_romm", "lstar_rgb"])
def test_the_sums_are_the_engine_s(published_profile: Published, name: str) -> None:
    data = published_profile(name)
    quick, slow = screen_of(data), Screen(parse_profile(data), None)
    assert quick.shaper is not None
    dice = np.random.default_rng(1)
    lab = np.stack([dice.uniform(0, 100, 20_000), *dice.uniform(-60, 60, (2, 20_000))], axis=-1).astype(np.float32)
    (ours, ours_beyond), (theirs, theirs_beyond) = quick.encode(lab), slow.encode(lab)
    assert np.abs(ours - theirs).max() <= 0.25 / 255
    assert ours_beyond == pytest.approx(theirs_beyond, abs=20)


@pytest.mark.source("ScikitImage", "deltaE_ciede2000")
def test_share_the_screen_can_t_show(published_profile: Published) -> None:
    output = profile_named(published_profile, "fogra39")
    picture = picture_of(hard_places())
    proof = make_proof(picture, fitted(picture, output), output, srgb_display())
    srgb = parse_profile(srgb_profile())
    shown = colour.XYZ_to_sRGB(
        colour.Lab_to_XYZ(proof.lab_absolute.astype(float), colour.XYZ_to_xy([0.9642, 1, 0.8249])),
        illuminant=colour.XYZ_to_xy([0.9642, 1, 0.8249]),
        chromatic_adaptation_transform="Bradford",
    )
    held = to_lab(srgb, np.clip(shown, 0, 1))
    expected = (deltaE_ciede2000(proof.lab_absolute, held) > 1).mean() * 100
    assert expected > 1
    assert proof.report.out_of_display_pct == pytest.approx(expected, abs=0.2)


@pytest.mark.source("ISOCIE11664-4", "CIELAB; the surface itself is checked elsewhere")
@pytest.mark.parametrize("correction", [Correction(), Correction(lightness=4, chroma=1.3)])
def test_out_of_range_against_every_pixel(published_profile: Published, correction: Correction) -> None:
    output = profile_named(published_profile, "fogra39")
    picture = picture_of(hard_places())
    beyond = surface(output).beyond_de00
    proof = make_proof(
        picture,
        fitted(picture, output),
        output,
        srgb_display(),
        correction=correction,
        beyond=beyond,
        roundtrip_p95_de00=0.4,
    )
    expected = (np.asarray(beyond(correct(master_lab(), correction))) > 1.4).mean() * 100
    assert expected > 5
    assert proof.report.out_of_range_pct == pytest.approx(expected, abs=0.5)


@pytest.mark.source("Lambert1760", "rho E / pi")
def test_white_to_match_is_the_paper_s_own(published_profile: Published) -> None:
    output = profile_named(published_profile, "fogra39")
    picture = picture_of(hard_places(20, 30))
    light = light_from("evening", words="evening room")
    report = make_proof(picture, fitted(picture, output), output, srgb_display(), light=light).report
    assert report.display_white_match_cd_m2 == pytest.approx(output.white_xyz[1] * light.illuminance_lx / np.pi)
