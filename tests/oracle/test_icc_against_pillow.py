"""Headers, tags and written profiles against Pillow's reader (ImageCms)."""

from __future__ import annotations

import io
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image, ImageCms

from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.working import lab_to_working, working_to_lab
from wallworthy.icc.read import parse_profile, read_tag_text, read_tag_xyz, require_output
from wallworthy.icc.standard import (
    display_p3_profile,
    grey_profile,
    lab_profile,
    srgb_profile,
    wide_profile,
    working_profile,
)
from wallworthy.icc.tables import FromLab, OutputTables, ToLab, even_nodes
from wallworthy.icc.write import Version, output_profile

PUBLISHED = [
    "fogra39",
    "gs_cmyk",
    "gs_ps_cmyk",
    "gs_srgb",
    "gs_romm",
    "gs_a98",
    "gs_lab",
    "gs_gray",
    "lstar_rgb",
    "vips_cmyk",
]
OURS = {
    "srgb": srgb_profile,
    "display_p3": display_p3_profile,
    "grey": grey_profile,
    "working": working_profile,
    "wide": wide_profile,
    "lab": lab_profile,
}

Load = Callable[[str], bytes]


def opened(data: bytes) -> ImageCms.ImageCmsProfile:
    return ImageCms.ImageCmsProfile(io.BytesIO(data))


def assert_same_reading(data: bytes) -> None:
    ours, theirs = parse_profile(data), opened(data).profile
    assert ours.device_class == theirs.device_class
    assert ours.space == theirs.xcolor_space.strip().upper()
    assert ours.pcs == theirs.connection_space.strip().upper()
    assert f"{ours.version[0]}.{ours.version[1]}" == f"{theirs.version:.1f}"
    assert ours.description == theirs.profile_description.strip()
    assert ours.copyright == " ".join(theirs.copyright.split())
    assert ours.is_matrix == theirs.is_matrix_shaper
    for n, (as_source, as_target, _) in theirs.clut.items():
        if n < 3:
            assert (f"A2B{n}" in ours.tags, f"B2A{n}" in ours.tags) == (as_source, as_target)
    if "wtpt" in ours.tags:
        assert read_tag_xyz(ours, "wtpt") == pytest.approx(theirs.media_white_point[0], abs=1e-9)
    if "bkpt" in ours.tags:
        assert read_tag_xyz(ours, "bkpt") == pytest.approx(theirs.media_black_point[0], abs=1e-9)
    for ink, colorant in (("r", theirs.red_colorant), ("g", theirs.green_colorant), ("b", theirs.blue_colorant)):
        if f"{ink}XYZ" in ours.tags:
            assert read_tag_xyz(ours, f"{ink}XYZ") == pytest.approx(colorant[0], abs=1e-9)
    if "targ" in ours.tags:
        assert read_tag_text(ours, "targ")[:500] == " ".join(theirs.target.split())[:500]


@pytest.mark.source("Pillow", "ImageCms profile attributes")
@pytest.mark.parametrize("name", PUBLISHED)
def test_published_profiles_read_the_same(published_profile: Load, name: str) -> None:
    data = published_profile(name)
    assert_same_reading(data)
    assert len(parse_profile(data).tags) > 0


@pytest.mark.source("Pillow", "ImageCms profile attributes")
@pytest.mark.parametrize("name", sorted(OURS))
def test_our_profiles_read_the_same(name: str) -> None:
    assert_same_reading(OURS[name]())
    assert opened(OURS[name]()).profile.creation_date.year == 2026


def through(pixels: np.ndarray, source: ImageCms.ImageCmsProfile, target: ImageCms.ImageCmsProfile) -> np.ndarray:
    change = ImageCms.buildTransform(source, target, "RGB", "RGB", ImageCms.Intent.RELATIVE_COLORIMETRIC, 0x0100)
    return np.asarray(ImageCms.applyTransform(Image.fromarray(pixels), change)).astype(int)


@pytest.mark.source("Pillow", "createProfile('sRGB')")
def test_srgb_is_pillows_srgb_within_one_code() -> None:
    pixels = np.random.default_rng(4).integers(0, 256, (128, 128, 3), dtype=np.uint8)
    pixels[0, :, :] = np.linspace(0, 255, 128).astype(np.uint8)[:, None]
    theirs = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))
    assert np.abs(through(pixels, opened(srgb_profile()), theirs) - pixels).max() <= 1
    assert np.abs(through(pixels, theirs, opened(srgb_profile())) - pixels).max() <= 1


def own_paper(version: Version) -> bytes:
    """An output profile over a device of known colours: the working cube drawn in to 10-90 %."""
    steps = np.linspace(0, 1, 17)
    device = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1)
    nodes = even_nodes(33)
    lab = np.stack(np.meshgrid(*nodes, indexing="ij"), axis=-1)
    to_device = np.clip((lab_to_working(lab) - 0.1) / 0.8, 0, 1)
    return output_profile(
        OutputTables(
            description="Paper of known colours",
            copyright="No copyright, use freely",
            space="RGB",
            white_xyz=(0.85, 0.88, 0.72),
            to_lab={"relative": ToLab(working_to_lab(device * 0.8 + 0.1))},
            from_lab={"relative": FromLab(to_device, nodes)},
            gamut=FromLab(np.zeros((9, 9, 9, 1))),
            black_xyz=(0.003, 0.003, 0.0025),
            measurements="CGATS.17\nKEYWORD nothing\n",
        ),
        version=version,
    )


@pytest.mark.source("Pillow", "ImageCms profile attributes and transforms")
@pytest.mark.parametrize("version", [2, 4])
def test_a_written_output_profile_transforms_right(version: Version) -> None:
    data = own_paper(version)
    require_output(parse_profile(data))
    assert_same_reading(data)
    assert set(opened(data).profile.intent_supported) >= {0, 1, 2}
    # sRGB greys and soft colours through the paper's own table and back again.
    wanted = np.random.default_rng(5).integers(70, 186, (64, 64, 3), dtype=np.uint8)
    srgb = opened(srgb_profile())
    device = through(wanted, srgb, opened(data)).astype(np.uint8)
    again = through(device, opened(data), srgb)
    lab_profile_of_pillow = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
    change = ImageCms.buildTransform(srgb, lab_profile_of_pillow, "RGB", "LAB", 1, 0x0100)
    before, after = (
        lab_of(np.asarray(ImageCms.applyTransform(Image.fromarray(p.astype(np.uint8)), change)))
        for p in (wanted, again)
    )
    difference = ciede2000(before, after)
    assert difference.mean() <= 0.6
    # What the device codes mean is known in closed form.
    meant = working_to_lab(device / 255 * 0.8 + 0.1)
    assert ciede2000(meant, before).mean() <= 0.6


def lab_of(codes: np.ndarray) -> np.ndarray:
    """Pillow's 8-bit LAB (a and b offset by 128) to Lab units."""
    lab = codes.astype(float)
    return np.stack([lab[..., 0] / 2.55, _signed(lab[..., 1]), _signed(lab[..., 2])], axis=-1)


def _signed(code: np.ndarray) -> np.ndarray:
    return np.where(code > 127, code - 256, code)
