"""Every format and layout gives the pixels and the profile that an independent reader gives."""

from __future__ import annotations

import io
from itertools import product
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import pillow_heif
import pytest
import tifffile
from PIL import Image

from support.pictures import all_of, exif, png, scene
from wallworthy.icc.standard import display_p3_profile, srgb_profile
from wallworthy.raster.read import inspect

KINDS = [np.uint8, np.uint16, np.float16, np.float32]
LAYOUTS: list[dict[str, Any]] = [
    {},
    {"rowsperstrip": 16},
    {"tile": (32, 16)},
    {"tile": (16, 48), "planarconfig": "separate"},
    {"planarconfig": "separate", "rowsperstrip": 16},
    {"byteorder": ">"},
    {"bigtiff": True, "byteorder": ">", "tile": (16, 16)},
]
PACKINGS: list[dict[str, Any]] = [
    {},
    {"compression": "lzw"},
    {"compression": "deflate", "predictor": True},
    {"compression": "zstd"},
    {"compression": "lzma"},
    {"compression": "packbits"},
]


@pytest.mark.source("tifffile", "imread")
@pytest.mark.parametrize("dtype", KINDS)
@pytest.mark.parametrize("packing", PACKINGS, ids=str)
def test_tiff_layouts(tmp_path: Path, dtype: Any, packing: dict[str, Any]) -> None:
    picture = scene(71, 53, 3, dtype)
    for layout in LAYOUTS:
        path = tmp_path / "a.tif"
        stored = picture.transpose(2, 0, 1) if layout.get("planarconfig") else picture
        tifffile.imwrite(path, stored, photometric="rgb", iccprofile=srgb_profile(), **layout, **packing)
        outside = tifffile.imread(path)
        outside = outside.transpose(1, 2, 0) if layout.get("planarconfig") else outside
        ours = all_of(path)
        assert np.array_equal(ours, outside.astype(ours.dtype)), layout
        assert np.array_equal(all_of(path, crop=(19, 7, 33, 40)), ours[19:52, 7:47]), layout
        assert inspect(path).icc == srgb_profile()


@pytest.mark.source("tifffile", "imread")
@pytest.mark.parametrize("space", ["ycbcr", "rgb", "minisblack", "separated"])
def test_tiff_with_jpeg_inside(tmp_path: Path, space: str) -> None:
    channels = {"minisblack": 1, "separated": 4}.get(space, 3)
    picture = scene(71, 53, channels)
    for layout in ({}, {"tile": (32, 32)}, {"rowsperstrip": 16}):
        path = tmp_path / "a.tif"
        colour: dict[str, Any] = {"subsampling": (1, 1)} if space == "ycbcr" else {}
        stored = picture[..., 0] if channels == 1 else picture
        photometric = "rgb" if space == "ycbcr" else space
        args = {"outcolorspace": "rgb"} if space == "rgb" else {}
        tifffile.imwrite(
            path, stored, photometric=photometric, compression="jpeg", compressionargs=args, **layout, **colour
        )
        ours = all_of(path)
        assert np.array_equal(ours.squeeze(), tifffile.imread(path)), layout
        assert np.abs(ours.astype(int) - picture).mean() < 12  # it is the picture, whatever JPEG does to noise


@pytest.mark.source("tifffile", "imread")
def test_tiff_that_says_rgb_over_jfif(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, scene(32, 48), photometric="rgb", compression="jpeg", subsampling=(1, 1))
    with tifffile.TiffFile(path) as opened:
        before, entry = opened.asarray(), opened.pages[0].tags[262]
    data = bytearray(path.read_bytes())
    assert b"JFIF" in data
    data[entry.valueoffset] = 2
    path.write_bytes(data)
    assert np.array_equal(all_of(path), tifffile.imread(path))
    assert np.array_equal(all_of(path), before)


@pytest.mark.source("PillowImage", "Image.open")
@pytest.mark.parametrize("mode", ["RGB", "L", "P", "1", "I;16"])
@pytest.mark.parametrize("interlaced", [False, True])
def test_png(tmp_path: Path, mode: str, interlaced: bool) -> None:
    path = tmp_path / "a.png"
    if interlaced:
        pyvips = pytest.importorskip("pyvips")
        picture = scene(71, 53, 3 if mode == "RGB" else 1, np.uint16 if mode == "I;16" else np.uint8)
        if mode in ("P", "1"):
            picture = np.asarray(Image.fromarray(picture[..., 0]).convert("RGB" if mode == "P" else "L"))
            picture = picture if picture.ndim == 3 else picture[..., None]
        pyvips.Image.new_from_array(picture).pngsave(str(path), interlace=True, palette=mode == "P")
    elif mode == "I;16":
        Image.fromarray(scene(71, 53, 1, np.uint16)[..., 0]).save(path)
    else:
        Image.fromarray(scene(71, 53)).convert(mode).save(path, icc_profile=None)
    opened = Image.open(path)
    outside = np.asarray(opened.convert("RGB") if opened.mode == "P" else opened)
    outside = outside.astype(np.uint8) * 255 if opened.mode == "1" else outside
    assert np.array_equal(all_of(path).squeeze(), outside)


@pytest.mark.source("PNG3", "sample depth 16")
def test_png_of_16_bit_rgb_and_its_profile(tmp_path: Path) -> None:
    picture = scene(31, 43, 3, np.uint16)
    rows = b"".join(b"\0" + row.astype(">u2").tobytes() for row in picture)
    import zlib

    profile = (b"iCCP", b"p\0\0" + zlib.compress(display_p3_profile()))
    (tmp_path / "a.png").write_bytes(png(43, 31, 16, 2, rows, profile))
    assert np.array_equal(all_of(tmp_path / "a.png"), picture)
    assert inspect(tmp_path / "a.png").icc == display_p3_profile()


@pytest.mark.source("PillowImage", "Image.open")
@pytest.mark.parametrize(("mode", "progressive"), list(product(["RGB", "L", "CMYK"], [False, True])))
def test_jpeg(tmp_path: Path, mode: str, progressive: bool) -> None:
    path = tmp_path / "a.jpg"
    icc = b"not parsed here" * 9000  # three segments
    channels = {"L": 1, "CMYK": 4}.get(mode, 3)
    picture = scene(71, 53, channels)
    Image.fromarray(picture.squeeze(), mode if mode == "CMYK" else None).save(
        path, quality=95, progressive=progressive, icc_profile=icc, subsampling=0
    )
    facts = inspect(path)
    assert (facts.space, facts.whole, facts.icc) == ({"L": "GRAY"}.get(mode, mode), progressive, icc)
    outside = np.asarray(Image.open(path)).reshape(71, 53, channels)
    ours = all_of(path)
    assert np.abs(ours.astype(int) - outside).max() <= 2  # two builds of the inverse DCT
    assert np.abs(ours.astype(int) - picture).mean() < 12


@pytest.mark.source("PillowImage", "Image.open")
@pytest.mark.parametrize("stored", ["CMYK", "YCCK"])
def test_jpeg_of_inks_with_adobe_marker_and_without_inversion_lost(tmp_path: Path, stored: str) -> None:
    """The Adobe marker means inks are stored upside down; bare paper must come out as no ink."""
    picture = np.full((32, 32, 4), 255, np.uint8)
    picture[16:] = [255, 40, 255, 255]
    data = bytes(imagecodecs.jpeg8_encode(picture, level=98, colorspace="CMYK", outcolorspace=stored))
    assert b"Adobe" in data[:200]
    (tmp_path / "a.jpg").write_bytes(data)
    ours = all_of(tmp_path / "a.jpg")
    assert np.abs(ours.astype(int) - np.asarray(Image.open(tmp_path / "a.jpg"))).max() <= 2
    assert ours[:8].max() <= 2
    assert np.abs(ours[24:].astype(int) - [0, 215, 0, 0]).max() <= 4


@pytest.mark.source("PillowImage", "Image.open")
def test_webp_is_read_to_the_pixel(tmp_path: Path) -> None:
    picture = scene(71, 53)
    path = tmp_path / "a.webp"
    Image.fromarray(picture).save(path, lossless=True, icc_profile=srgb_profile())
    assert np.array_equal(all_of(path), picture)
    assert inspect(path).icc == srgb_profile()
    Image.fromarray(picture).save(path, quality=80)
    assert np.array_equal(all_of(path), np.asarray(Image.open(path)))


@pytest.mark.source("imagecodecs", "jpegxl_decode, avif_decode")
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16, np.float16, np.float32])
@pytest.mark.parametrize("channels", [1, 3])
def test_jpeg_xl(tmp_path: Path, dtype: Any, channels: int) -> None:
    picture = scene(71, 53, channels, dtype)
    data = bytes(imagecodecs.jpegxl_encode(picture.squeeze(), lossless=True))
    (tmp_path / "a.jxl").write_bytes(data)
    facts = inspect(tmp_path / "a.jxl")
    assert (facts.bits, facts.floating) == (np.dtype(dtype).itemsize * 8, np.dtype(dtype).kind == "f")
    assert np.array_equal(all_of(tmp_path / "a.jxl").squeeze(), imagecodecs.jpegxl_decode(data).squeeze())
    assert np.allclose(all_of(tmp_path / "a.jxl"), picture, atol=1e-6)


@pytest.mark.source("imagecodecs", "jpegxl_decode, avif_decode")
@pytest.mark.parametrize("bits", [10, 12])
def test_jpeg_xl_uses_its_full_range(tmp_path: Path, bits: int) -> None:
    top = (1 << bits) - 1
    picture = (scene(171, 53, 3, np.float64) * top).astype(np.uint16)
    picture[:2, :3] = top
    data = bytes(imagecodecs.jpegxl_encode(picture, lossless=True, bitspersample=bits))
    (tmp_path / "a.jxl").write_bytes(data)
    assert inspect(tmp_path / "a.jxl").bits == bits
    ours = all_of(tmp_path / "a.jxl")
    assert int(ours[0, 0, 0]) == 65535
    assert np.abs(ours / 65535 - imagecodecs.jpegxl_decode(data) / top).max() <= 0.51 / 65535


@pytest.mark.source("imagecodecs", "jpegxl_decode, avif_decode")
@pytest.mark.parametrize("bits", [8, 10, 12])
@pytest.mark.parametrize("channels", [1, 3])
def test_avif_uses_its_full_range(tmp_path: Path, bits: int, channels: int) -> None:
    top = (1 << bits) - 1
    picture = (scene(71, 53, channels, np.float64) * top).astype(np.uint8 if bits == 8 else np.uint16)
    picture[:2, :3] = top
    options: dict[str, Any] = {} if bits == 8 else {"bitspersample": bits}
    data = bytes(imagecodecs.avif_encode(picture.squeeze(), level=100, **options))
    (tmp_path / "a.avif").write_bytes(data)
    outside = imagecodecs.avif_decode(data).astype(float)
    outside = outside if outside.ndim == 3 else np.repeat(outside[..., None], channels, axis=2)
    ours = all_of(tmp_path / "a.avif")
    full = np.iinfo(ours.dtype).max
    assert ours.shape == (71, 53, channels)
    assert int(ours[0, 0, 0]) == full
    assert np.abs(ours / full - outside[..., :channels] / top).max() < 1 / full


@pytest.mark.source("pillowheif", "open_heif")
@pytest.mark.parametrize("bits", [8, 10])
def test_heic(tmp_path: Path, bits: int) -> None:
    picture = scene(72, 56, 3, np.uint8 if bits == 8 else np.uint16)
    made = pillow_heif.from_bytes("RGB" if bits == 8 else "RGB;16", (56, 72), picture.tobytes())
    made.info["icc_profile"] = display_p3_profile()
    made.save(tmp_path / "a.heic", quality=95, chroma=444)
    outside = np.asarray(pillow_heif.open_heif(tmp_path / "a.heic", convert_hdr_to_8bit=False))
    facts = inspect(tmp_path / "a.heic")
    assert (facts.format, facts.bits, facts.icc) == ("HEIC", bits, display_p3_profile())
    full = 255 if bits == 8 else 65472
    ours = all_of(tmp_path / "a.heic")
    assert np.abs(ours / np.iinfo(ours.dtype).max - outside / full).max() < 2e-5
    assert np.abs(ours / np.iinfo(ours.dtype).max - picture / np.iinfo(picture.dtype).max).mean() < 0.03


@pytest.mark.source("TIFF6", "Orientation")
@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_all_turns(tmp_path: Path, form: str) -> None:
    """The tag's table: where row 0 and column 0 lie as seen; Pillow's transpose is the second opinion."""
    from PIL import ImageOps

    picture = scene(24, 40)
    for orientation in range(1, 9):
        path = tmp_path / f"a{orientation}"
        options: dict[str, Any] = {"lossless": True} if form == "WEBP" else {"quality": 95} if form == "JPEG" else {}
        if form == "TIFF":
            tifffile.imwrite(path, picture, photometric="rgb", extratags=[(274, 3, 1, orientation, True)])
        else:
            Image.fromarray(picture).save(path, form, exif=exif(orientation), **options)
        outside = np.asarray(ImageOps.exif_transpose(Image.open(path)))
        ours = all_of(path, rows=7)
        facts = inspect(path)
        assert facts.orientation == orientation
        assert (facts.height_px, facts.width_px) == outside.shape[:2]
        assert ours.shape == outside.shape
        assert np.abs(ours.astype(int) - outside).max() <= 2
        crop = all_of(path, rows=5, crop=(3, 2, 17, 11))
        assert np.array_equal(crop, ours[3:20, 2:13])
        assert all_of(path, crop=(0, 0, 1, 1)).shape == (1, 1, 3)


@pytest.mark.source("TIFF6", "ExtraSamples")
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16, np.float32])
def test_alpha_is_laid_on_white(tmp_path: Path, dtype: Any) -> None:
    top = 1.0 if dtype is np.float32 else float(np.iinfo(dtype).max)
    picture = scene(20, 30, 4, dtype)
    alpha = picture[..., 3:].astype(float) / top
    for name, colours in (("unassalpha", picture[..., :3].astype(float) * alpha), ("assocalpha", None)):
        stored = picture.copy()
        if colours is None:
            stored[..., :3] = (picture[..., :3] * alpha).astype(dtype)
            colours = stored[..., :3].astype(float)
        tifffile.imwrite(tmp_path / "a.tif", stored, photometric="rgb", extrasamples=[name])
        expected = colours + (1 - alpha) * top
        assert inspect(tmp_path / "a.tif").alpha == ("straight" if name == "unassalpha" else "premultiplied")
        assert np.abs(all_of(tmp_path / "a.tif").astype(float) - expected).max() <= (1e-6 if top == 1 else 0.51)


@pytest.mark.source("TIFF6", "ExtraSamples")
def test_alpha_behind_a_mask_is_the_alpha(tmp_path: Path) -> None:
    stored = scene(20, 30, 5)
    stored[..., 3] = 7
    alpha = stored[..., 4:] / 255
    tifffile.imwrite(
        tmp_path / "a.tif", stored, photometric="rgb", planarconfig="contig", extrasamples=["unspecified", "unassalpha"]
    )
    expected = stored[..., :3] * alpha + (1 - alpha) * 255
    assert np.abs(all_of(tmp_path / "a.tif") - expected).max() <= 0.51
    assert [notice.code for notice in inspect(tmp_path / "a.tif").notices] == ["channels_left_out"]


@pytest.mark.source("PillowImage", "Image.open")
def test_alpha_of_other_formats(tmp_path: Path) -> None:
    picture = scene(20, 30, 4)
    alpha = picture[..., 3:] / 255
    expected = picture[..., :3] * alpha + (1 - alpha) * 255
    Image.fromarray(picture).save(tmp_path / "a.png")
    Image.fromarray(picture).save(tmp_path / "a.webp", lossless=True, exact=True)
    (tmp_path / "a.jxl").write_bytes(bytes(imagecodecs.jpegxl_encode(picture, lossless=True)))
    (tmp_path / "a.avif").write_bytes(bytes(imagecodecs.avif_encode(picture, level=100)))
    for name in ("a.png", "a.webp", "a.jxl", "a.avif"):
        facts = inspect(tmp_path / name)
        assert (facts.alpha, facts.space) == ("straight", "RGB"), name
        assert np.abs(all_of(tmp_path / name) - expected).max() <= 0.51, name
    grey = np.dstack([picture[..., 0], picture[..., 3]])
    Image.fromarray(grey, "LA").save(tmp_path / "g.png")
    assert (
        np.abs(all_of(tmp_path / "g.png")[..., 0] - (grey[..., 0] * alpha[..., 0] + (1 - alpha[..., 0]) * 255)).max()
        < 0.51
    )
    with Image.open(io.BytesIO((tmp_path / "g.png").read_bytes())) as opened:
        assert opened.mode == "LA"


@pytest.mark.source("tifffile", "imread")
def test_other_tiff_kinds(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    grey = scene(20, 30, 1)[..., 0]
    tifffile.imwrite(path, grey, photometric="miniswhite")
    assert np.array_equal(all_of(path)[..., 0], 255 - grey)
    table = np.random.default_rng(1).integers(0, 256, (3, 256)).astype(np.uint16)
    tifffile.imwrite(path, grey, photometric="palette", colormap=table * 257)
    assert np.array_equal(all_of(path), table.T[grey])
    five = scene(20, 30, 5, np.uint16)
    tifffile.imwrite(path, five, photometric="rgb", planarconfig="contig", extrasamples=["unspecified"] * 2)
    assert np.array_equal(all_of(path), five[..., :3])
    assert [notice.code for notice in inspect(path).notices] == ["channels_left_out"]
    tifffile.imwrite(path, scene(20, 30, 4), photometric="separated")
    assert inspect(path).space == "CMYK"
    assert np.array_equal(all_of(path), scene(20, 30, 4))


@pytest.mark.source("TIFF6", "section 23, CIE L*a*b* images")
def test_tiff_lab(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    byte = np.array([[[255, 0, 0], [128, 127, 128], [0, 256 - 60, 33]]], dtype=np.uint8)
    tifffile.imwrite(path, byte, photometric="cielab")
    assert np.allclose(all_of(path)[0], [[100, 0, 0], [128 / 2.55, 127, -128], [0, -60, 33]], atol=1e-4)
    wide = np.array([[[65535, 0, 0], [32768, 65536 - 256 * 60, 256 * 33]]], dtype=np.uint16)
    tifffile.imwrite(path, wide, photometric="cielab")
    assert np.allclose(all_of(path)[0], [[100, 0, 0], [32768 / 655.35, -60, 33]], atol=1e-4)
    icc = np.array([[[0xFF00, 0x8000, 0x8000], [0x7F80, 0xFF00, 0]]], dtype=np.uint16)
    tifffile.imwrite(path, icc, photometric="icclab")
    assert np.allclose(all_of(path)[0], [[100, 0, 0], [50, 127, -128]], atol=0.2)
    tifffile.imwrite(path, wide.view(np.int16), photometric="cielab", compression="deflate", predictor=True)
    assert np.allclose(all_of(path)[0], [[100, 0, 0], [32768 / 655.35, -60, 33]], atol=1e-4)
    floats = np.array([[[50.5, -20.25, 7]]], dtype=np.float32)
    tifffile.imwrite(path, floats, photometric="cielab")
    assert np.array_equal(all_of(path), floats)


@pytest.mark.source("PillowImage", "Image.open")
def test_transparent_colours_of_png(tmp_path: Path) -> None:
    """tRNS: one transparent colour in RGB and grey, an alpha for each entry of a palette."""
    picture = scene(20, 30)
    picture[5:9, 5:9] = [9, 8, 7]
    expected = picture.copy()
    expected[5:9, 5:9] = 255
    Image.fromarray(picture).save(tmp_path / "a.png", transparency=(9, 8, 7))
    assert np.array_equal(all_of(tmp_path / "a.png"), expected)
    grey = scene(20, 30, 1)[..., 0]
    Image.fromarray(grey).save(tmp_path / "g.png", transparency=int(grey[3, 3]))
    assert np.array_equal(all_of(tmp_path / "g.png")[..., 0], np.where(grey == grey[3, 3], 255, grey))
    Image.fromarray(picture).convert("P").save(tmp_path / "p.png", transparency=bytes([128] * 256))
    opaque = np.asarray(Image.fromarray(picture).convert("P").convert("RGB"))
    assert np.abs(all_of(tmp_path / "p.png") - (opaque * (128 / 255) + 127)).max() <= 0.51
    assert inspect(tmp_path / "p.png").alpha == "straight"


@pytest.mark.source("pillowheif", "open_heif")
def test_heic_is_turned_once(tmp_path: Path) -> None:
    """Phones state the turn twice, as a property and in EXIF; it must be made once."""
    picture = scene(40, 64)
    made = pillow_heif.from_bytes("RGB", (64, 40), picture.tobytes())
    made.save(tmp_path / "a.heic", quality=95, chroma=444, exif=exif(6, more=True))
    outside = np.asarray(pillow_heif.open_heif(tmp_path / "a.heic"))
    facts = inspect(tmp_path / "a.heic")
    assert (facts.height_px, facts.width_px) == outside.shape[:2] == (64, 40)
    assert np.array_equal(all_of(tmp_path / "a.heic"), outside)
    assert facts.capture["camera"] == "Acme Box One"
