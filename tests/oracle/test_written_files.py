"""Written pictures read back by tifffile, Pillow and libvips: same samples, profile and density."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any, Literal

import imagecodecs
import numpy as np
import pytest
import pyvips
import tifffile
from numpy.typing import NDArray
from PIL import Image

from support.pictures import scene
from wallworthy.icc.standard import grey_profile, srgb_profile
from wallworthy.raster import tiffout
from wallworthy.raster.form import FileForm, Format, density_in_file
from wallworthy.raster.stream import rechunk
from wallworthy.raster.write import samples_sha256, write_picture

PPI = 299.72
SPACES = {1: "GRAY", 2: "2CLR", 3: "RGB", 4: "CMYK", 6: "6CLR"}
PROFILES = {1: grey_profile(), 3: srgb_profile()}
INKS = b"\0\0\1\0" + bytes(251) + b"not read by any of these, only carried"

TIFFS = [(channels, bits) for channels in SPACES for bits in (8, 16)]
PNGS = [(channels, bits) for channels in (1, 3) for bits in (8, 16)]


def written(path: Path, channels: int, bits: Literal[8, 16]) -> tuple[NDArray[Any], bytes, str]:
    picture = scene(211, 157, channels, np.uint8 if bits == 8 else np.uint16)
    profile = PROFILES.get(channels, INKS)
    name: Format = {".tif": "tiff", ".png": "png", ".jpg": "jpeg"}[path.suffix]  # type: ignore[assignment]
    form = FileForm(name, 157, 211, channels, bits, SPACES[channels], PPI, profile)
    return picture, profile, write_picture(path, rechunk([picture], 50), form)


def by_libvips(path: Path) -> tuple[NDArray[Any], bytes, float]:
    image: Any = pyvips.Image.new_from_file(str(path))
    profile = bytes(image.get("icc-profile-data"))
    return image.numpy().reshape(image.height, image.width, image.bands), profile, image.xres * 25.4


@pytest.mark.source("TIFF6", "sections 8, 14, 16: deflate, predictor 2, separated")
@pytest.mark.parametrize(("channels", "bits"), TIFFS)
def test_tiff_by_tifffile_and_libvips(tmp_path: Path, channels: int, bits: Literal[8, 16]) -> None:
    picture, profile, sha256 = written(tmp_path / "a.tif", channels, bits)
    with tifffile.TiffFile(tmp_path / "a.tif") as file:
        page: Any = file.pages[0]
        assert np.array_equal(page.asarray().reshape(picture.shape), picture)
        assert page.tags["InterColorProfile"].value == profile
        numerator, denominator = page.tags["XResolution"].value
        assert numerator / denominator == pytest.approx(PPI, abs=1e-4)
        assert page.tags["ResolutionUnit"].value == 2
        if channels not in (1, 3):
            assert page.photometric == tifffile.PHOTOMETRIC.SEPARATED
            assert page.tags[332].value == (1 if channels == 4 else 2)
            assert page.tags[334].value == channels
            assert 338 not in page.tags
    samples, carried, density = by_libvips(tmp_path / "a.tif")
    assert np.array_equal(samples, picture)
    assert carried == profile
    assert density == pytest.approx(PPI, abs=1e-3)
    assert sha256 == hashlib.sha256(picture.tobytes()).hexdigest() == samples_sha256(tmp_path / "a.tif")


@pytest.mark.source("PNG3", "IHDR, IDAT, iCCP, pHYs")
@pytest.mark.parametrize(("channels", "bits"), PNGS)
def test_png_by_libvips_and_imagecodecs(tmp_path: Path, channels: int, bits: Literal[8, 16]) -> None:
    picture, profile, sha256 = written(tmp_path / "a.png", channels, bits)
    samples, carried, density = by_libvips(tmp_path / "a.png")
    assert np.array_equal(samples, picture)
    assert carried == profile
    assert density == pytest.approx(PPI, abs=0.02)
    assert np.array_equal(imagecodecs.png_decode((tmp_path / "a.png").read_bytes()).reshape(picture.shape), picture)
    assert sha256 == hashlib.sha256(picture.tobytes()).hexdigest() == samples_sha256(tmp_path / "a.png")


@pytest.mark.source("PillowImage", "info: icc_profile")
@pytest.mark.parametrize("name", ["tiff", "png", "jpeg"])
def test_profiles_are_carried_byte_for_byte_whatever_a_library_thinks_of_them(tmp_path: Path, name: Format) -> None:
    """A long one, in pieces in a JPEG; one of version 4 with an odd length, which libpng would refuse."""
    for more in (1, 300_000):
        profile = bytearray(srgb_profile() + bytes(more))
        profile[:4], profile[8] = len(profile).to_bytes(4, "big"), 4
        form = FileForm(name, 20, 10, 3, 8, "RGB", PPI, bytes(profile))
        write_picture(tmp_path / "a", [scene(10, 20)], form, overwrite=True)
        with Image.open(tmp_path / "a") as image:
            assert image.info["icc_profile"] == profile


@pytest.mark.source("PillowImage", "Image.open")
@pytest.mark.parametrize("name", ["1.tif", "3.tif", "4.tif", "1.png", "3.png"])
def test_8_bits_by_pillow(tmp_path: Path, name: str) -> None:
    picture, profile, _ = written(tmp_path / name, int(name[0]), 8)
    with Image.open(tmp_path / name) as image:
        assert np.array_equal(np.asarray(image).reshape(picture.shape), picture)
        assert image.info["icc_profile"] == profile
        assert image.info["dpi"][0] == pytest.approx(PPI, abs=0.02)


@pytest.mark.source("PillowImage", "Image.open")
@pytest.mark.parametrize("name", ["1.tif", "1.png"])
def test_16_bits_of_grey_by_pillow(tmp_path: Path, name: str) -> None:
    picture, _, _ = written(tmp_path / name, 1, 16)
    with Image.open(tmp_path / name) as image:
        assert np.array_equal(np.asarray(image).reshape(picture.shape), picture)


@pytest.mark.source("JFIF", "density in the APP0 segment, profile in APP2")
@pytest.mark.parametrize("channels", [1, 3])
def test_jpeg_by_pillow_and_libvips(tmp_path: Path, channels: int) -> None:
    picture, profile, sha256 = written(tmp_path / "a.jpg", channels, 8)
    samples, carried, density = by_libvips(tmp_path / "a.jpg")
    assert np.abs(samples.astype(int) - picture).mean() < 4
    assert carried == profile
    assert density == pytest.approx(PPI, abs=0.1)
    assert sha256 == hashlib.sha256(samples.tobytes()).hexdigest()
    with Image.open(tmp_path / "a.jpg") as image:
        assert image.info["icc_profile"] == profile
        assert image.info["dpi"][0] == pytest.approx(PPI, abs=0.5)
        assert (image.info["jfif_unit"], image.info["jfif_density"]) == (2, (118, 118)), (
            "to the cm is nearer than to the inch"
        )
        assert all(factor == (1, 1) for factor in [layer[1:3] for layer in image.layer])  # type: ignore[attr-defined]
        assert np.abs(np.asarray(image).reshape(picture.shape).astype(int) - samples).max() <= 3


@pytest.mark.source("BigTIFF", "64-bit offsets")
@pytest.mark.parametrize("channels", [1, 3, 4, 6])
def test_big_tiff_by_tifffile_and_libvips(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, channels: int) -> None:
    monkeypatch.setattr(tiffout, "BIG_FROM_BYTES", 1000)
    picture, profile, _ = written(tmp_path / "a.tif", channels, 16)
    with tifffile.TiffFile(tmp_path / "a.tif") as file:
        page: Any = file.pages[0]
        assert file.is_bigtiff
        assert np.array_equal(page.asarray().reshape(picture.shape), picture)
        assert page.tags.valueof(334) == (channels if channels in (4, 6) else None)
        assert page.tags["InterColorProfile"].value == profile
    samples, _, _ = by_libvips(tmp_path / "a.tif")
    assert np.array_equal(samples, picture)


@pytest.mark.source("tifffile", "every strip in place")
@pytest.mark.parametrize("size", [(1, 1), (1, 3), (65, 1), (64, 2), (129, 5000)])
def test_odd_sizes(tmp_path: Path, size: tuple[int, int]) -> None:
    picture = scene(*size, 3, np.uint16)
    form = FileForm("tiff", size[1], size[0], 3, 16, "RGB", 360.0, None)
    write_picture(tmp_path / "a.tif", rechunk([picture], 7), form)
    assert np.array_equal(tifffile.imread(tmp_path / "a.tif").reshape(picture.shape), picture)
    write_picture(tmp_path / "a.png", rechunk([picture], 7), FileForm("png", *size[::-1], 3, 16, "RGB", 360.0))
    assert np.array_equal(by_png(tmp_path / "a.png"), picture)


def by_png(path: Path) -> NDArray[Any]:
    return imagecodecs.png_decode(path.read_bytes())


@pytest.mark.source("PillowImage", "info: dpi")
@pytest.mark.parametrize("ppi", [300.0, 330.7, 330.2, 254.0, 72.0, 719.8])
@pytest.mark.parametrize("name", ["tiff", "png", "jpeg"])
def test_the_density_is_told_as_it_was_written(tmp_path: Path, name: Format, ppi: float) -> None:
    form = FileForm(name, 20, 10, 3, 8, "RGB", ppi, srgb_profile())
    write_picture(tmp_path / "a", [scene(10, 20)], form)
    told = density_in_file(form)
    with Image.open(tmp_path / "a") as image:
        assert [float(value) for value in image.info["dpi"]] == pytest.approx([told, told], abs=0.01)
    assert told == pytest.approx(ppi, abs=0.5 if name == "jpeg" else 0.015)
