"""What can't be a master is refused in one sentence, with its pixels untouched."""

from __future__ import annotations

import hashlib
import io
import os
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import pytest
import tifffile
from PIL import Image

from support.pictures import all_of, exif, png, scene, small_files
from wallworthy.base.errors import InputError
from wallworthy.icc.standard import display_p3_profile, grey_profile, srgb_profile
from wallworthy.master.describe import describe
from wallworthy.master.open import in_space, open_master
from wallworthy.master.source import working_source
from wallworthy.raster.read import inspect, read_strips
from wallworthy.raster.spool import canvas

pytestmark = pytest.mark.practice

FILES = small_files()
CUTS = [0.02, 0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9, 0.97, 0.995]


def read_all(path: Path, assume: bytes | None = None) -> int:
    return sum(len(strip) for strip in working_source(open_master(path, assume=assume)).strips(16))


def refusal(path: Path, assume: bytes | None = None) -> InputError:
    with pytest.raises(InputError) as caught:
        read_all(path, assume)
    error = caught.value
    assert error.text.endswith(".")
    assert error.mend.endswith(".")
    assert "\n" not in error.text
    return error


@pytest.mark.parametrize("name", sorted(FILES))
def test_whole_files_are_read_and_stay_as_they_are(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(FILES[name])
    path.chmod(0o444)
    os.utime(path, ns=(10**18, 10**18))
    before = path.stat()
    master = open_master(path)
    assert read_all(path) == master.height_px == 40
    after = path.stat()
    assert path.read_bytes() == FILES[name]
    assert (after.st_mtime_ns, after.st_size) == (before.st_mtime_ns, before.st_size)
    assert master.sha256 == hashlib.sha256(FILES[name]).hexdigest()
    assert [entry.name for entry in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize("name", sorted(FILES))
def test_cut_short_is_refused_wherever_it_is_cut(tmp_path: Path, name: str) -> None:
    data = FILES[name]
    path = tmp_path / name
    for length in sorted({int(len(data) * cut) for cut in CUTS} | {len(data) - 1, len(data) - 40, 1, 3, 9}):
        path.write_bytes(data[:length])
        assert refusal(path).code in (
            "master_truncated", "master_damaged", "master_not_picture", "master_profile_broken"
        ), length  # fmt: skip


@pytest.mark.parametrize("name", sorted(FILES))
def test_grown_while_reading_is_noticed(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(FILES[name])
    master = open_master(path)
    source = working_source(master)
    path.write_bytes(FILES[name] + b" ")
    with pytest.raises(InputError) as caught:
        list(source.strips(16))
    assert caught.value.code == "master_changed"
    with pytest.raises(InputError) as caught:
        working_source(master)
    assert caught.value.code in ("master_changed", "master_damaged")


def test_a_copy_with_the_same_bytes_is_the_same_master(tmp_path: Path) -> None:
    (tmp_path / "p.png").write_bytes(FILES["p.png"])
    master = open_master(tmp_path / "p.png")
    os.utime(tmp_path / "p.png", ns=(1, 1))
    assert sum(len(strip) for strip in working_source(master).strips(7)) == 40


def test_judged_by_content_not_by_name(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(FILES["p.png"])
    assert open_master(tmp_path / "a.jpg").format == "PNG"
    (tmp_path / "a.tif").write_text("Dear printer, here is my picture. " * 50)
    assert refusal(tmp_path / "a.tif").code == "master_not_picture"
    (tmp_path / "b.tif").write_bytes(b"")
    assert refusal(tmp_path / "b.tif").code == "master_empty"
    assert refusal(tmp_path / "none.tif").code == "master_missing"
    assert refusal(tmp_path).code == "master_no_file"
    assert refusal(tmp_path / "a.jpg" / "b.jpg").code == "master_missing"
    assert refusal(Path("a\0b")).code in ("master_unreadable", "master_missing")
    os.mkfifo(tmp_path / "pipe.tif")
    assert refusal(tmp_path / "pipe.tif").code == "master_no_file"


@pytest.mark.parametrize(("dtype", "channels"), [(np.uint16, 3), (np.uint8, 1), (np.uint8, 4), (np.float32, 3)])
def test_untagged_is_refused_unless_told(tmp_path: Path, dtype: Any, channels: int) -> None:
    path = tmp_path / "a.tif"
    picture = scene(8, 9, channels, dtype)
    photometric = {1: "minisblack", 3: "rgb", 4: "separated"}[channels]
    tifffile.imwrite(path, picture[..., 0] if channels == 1 else picture, photometric=photometric)
    error = refusal(path)
    assert error.code == "master_untagged"
    assert "--assume" in error.mend
    if channels != 4:
        profile = grey_profile() if channels == 1 else display_p3_profile()
        master = open_master(path, assume=profile)
        assert (master.assumed, master.profile, master.notices) == (True, profile, ())


@pytest.mark.parametrize("how", ["bare", "bare, told before", "8 bit", "tagged"])
def test_a_profile_named_later_is_told_of_as_if_it_had_been_named_at_once(tmp_path: Path, how: str) -> None:
    path = tmp_path / "a.tif"
    dtype = np.uint8 if how == "8 bit" else np.uint16
    tags = {"iccprofile": srgb_profile()} if how == "tagged" else {}
    tifffile.imwrite(path, scene(8, 9, 3, dtype), photometric="rgb", **tags)
    before = open_master(path, assume=srgb_profile() if how.startswith("bare") else None)
    assert before.is_told == how.startswith("bare")
    named = display_p3_profile() if how != "bare" else srgb_profile()
    assert in_space(before, named) == open_master(path, assume=named)
    assert in_space(in_space(before, srgb_profile()), named) == open_master(path, assume=named)
    assert open_master(path, assume=named).is_told


def test_8_bit_rgb_is_taken_as_srgb_with_a_notice(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    image = Image.fromarray(scene(8, 9))
    image.save(path)
    master = open_master(path)
    assert [notice.code for notice in master.notices] == ["untagged_srgb"]
    assert (master.assumed, master.profile) == (True, srgb_profile())
    image.save(path, exif=exif(colour_space=1))
    said = open_master(path)
    assert (said.notices, said.assumed, said.profile) == ((), False, srgb_profile())
    image.save(path, icc_profile=display_p3_profile())
    replaced = open_master(path, assume=srgb_profile())
    assert [notice.code for notice in replaced.notices] == ["profile_replaced"]


def test_png_names_its_space(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    grey = b"\0\x10" * 3
    path.write_bytes(png(1, 3, 8, 0, grey, (b"sRGB", b"\0")))
    assert open_master(path).profile == grey_profile()
    colour = b"\0\x10\x20\x30"
    usual = struct.pack(">8I", 31270, 32900, 64000, 33000, 30000, 60000, 15000, 6000)
    path.write_bytes(png(1, 1, 16, 2, colour + colour[1:], (b"gAMA", struct.pack(">I", 45455)), (b"cHRM", usual)))
    assert open_master(path).profile == srgb_profile()
    path.write_bytes(png(1, 1, 8, 2, colour, (b"gAMA", struct.pack(">I", 100_000))))
    assert refusal(path).code == "master_unsupported"
    path.write_bytes(png(1, 1, 8, 2, colour, (b"cICP", bytes([12, 13, 0, 1]))))
    assert open_master(path).profile == display_p3_profile()
    path.write_bytes(png(1, 1, 8, 2, colour, (b"cICP", bytes([9, 16, 0, 1]))))
    assert "HDR" in refusal(path).text


@pytest.mark.parametrize("name", ["a.avif", "h.heic"])
def test_heif_names_its_space(tmp_path: Path, name: str) -> None:
    """Code points of ITU-T H.273 in the 'nclx' colour box."""
    path = tmp_path / name
    at = FILES[name].index(b"colrnclx") + 8
    for codes, said in (((12, 13), "display-p3"), ((1, 13), "srgb"), ((2, 2), None)):
        path.write_bytes(FILES[name][:at] + struct.pack(">HH", *codes) + FILES[name][at + 4 :])
        assert inspect(path).said_space == said
    path.write_bytes(FILES[name][:at] + struct.pack(">HH", 9, 16) + FILES[name][at + 4 :])
    assert "HDR" in refusal(path).text


def test_profiles_that_can_not_be_right(tmp_path: Path, published_profile: Callable[[str], bytes]) -> None:
    path = tmp_path / "a.tif"
    cmyk = published_profile("vips_cmyk")
    picture = scene(8, 9)
    tifffile.imwrite(path, picture, photometric="rgb", iccprofile=cmyk)
    error = refusal(path)
    assert error.code == "master_profile_misfit"
    assert "CMYK" in error.text
    assert "--assume" in error.mend
    tifffile.imwrite(path, picture, photometric="rgb", iccprofile=srgb_profile()[:200])
    assert refusal(path).code == "master_profile_broken"
    assert open_master(path, assume=srgb_profile()).profile == srgb_profile()
    assert refusal(path, cmyk).code == "assumed_profile_misfit"
    assert refusal(path, b"no profile").text.endswith(".")


def test_nan_and_infinity_are_refused(tmp_path: Path) -> None:
    for value in (np.nan, np.inf, -np.inf):
        for dtype in (np.float16, np.float32):
            picture = scene(30, 9, 3, dtype)
            picture[25, 3, 1] = value
            tifffile.imwrite(tmp_path / "a.tif", picture, photometric="rgb", iccprofile=srgb_profile())
            assert refusal(tmp_path / "a.tif").code == "master_not_finite"
    lab = scene(30, 9, 3, np.float32)
    lab[29, 8, 2] = np.nan
    tifffile.imwrite(tmp_path / "a.tif", lab, photometric="cielab")
    assert refusal(tmp_path / "a.tif").code == "master_not_finite"


def test_kinds_of_samples_that_are_not_read(tmp_path: Path) -> None:
    for dtype in (np.int16, np.uint32, np.float64, np.int8):
        tifffile.imwrite(tmp_path / "a.tif", np.zeros((8, 8, 3), dtype), photometric="rgb")
        assert refusal(tmp_path / "a.tif").code == "master_unsupported"
    tifffile.imwrite(tmp_path / "a.tif", np.zeros((8, 8, 6), np.uint8), photometric="separated")
    assert refusal(tmp_path / "a.tif").code in ("master_untagged", "master_unsupported")
    tifffile.imwrite(tmp_path / "a.tif", np.zeros((8, 8), bool), photometric="minisblack")
    assert "1-bit" in refusal(tmp_path / "a.tif").text


def test_directories_in_a_ring(tmp_path: Path) -> None:
    memory = io.BytesIO()
    tifffile.imwrite(memory, scene(8, 9), photometric="rgb")
    data = bytearray(memory.getvalue())
    start = struct.unpack_from("<I", data, 4)[0]
    count = struct.unpack_from("<H", data, start)[0]
    struct.pack_into("<I", data, start + 2 + 12 * count, start)
    (tmp_path / "a.tif").write_bytes(data)
    assert "back at each other" in refusal(tmp_path / "a.tif").text


def test_several_pictures_in_one_file(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    with tifffile.TiffWriter(path) as writer:
        writer.write(scene(4, 5), photometric="rgb", subfiletype=1)
        writer.write(scene(8, 9), photometric="rgb")
        writer.write(scene(12, 13), photometric="rgb")
    master = open_master(path)
    assert (master.height_px, master.width_px) == (8, 9)
    assert "first_picture" in [notice.code for notice in master.notices]
    assert np.array_equal(all_of(path), scene(8, 9))


@pytest.mark.parametrize("progressive", [False, True])
def test_holes_in_a_jpeg_are_refused_and_harmless_padding_is_not(tmp_path: Path, progressive: bool) -> None:
    memory = io.BytesIO()
    Image.fromarray(scene(300, 400)).save(memory, "JPEG", quality=90, progressive=progressive)
    data, path = memory.getvalue(), tmp_path / "a.jpg"
    path.write_bytes(data)
    whole = all_of(path)
    for start in (len(data) // 3, len(data) // 2, len(data) - 300):
        path.write_bytes(data[:start] + b"\xff\xd9")
        assert refusal(path).code in ("master_damaged", "master_truncated")
    for harmless in (data[:-2] + bytes(9) + data[-2:], data + b"maker's note" * 9):
        path.write_bytes(harmless)
        assert np.array_equal(all_of(path), whole)
    Image.fromarray(scene(300, 400)).save(path, "JPEG", exif=exif(6), progressive=progressive)
    turned = path.read_bytes()
    path.write_bytes(turned[: len(turned) // 2] + b"\xff\xd9")
    assert refusal(path).code in ("master_damaged", "master_truncated")


def test_profiles_in_pieces_and_jpegs_of_12_bits(tmp_path: Path, published_profile: Callable[[str], bytes]) -> None:
    """A lost piece of a long profile must not leave the rest to be used; 12 bits are not read as 8."""
    path = tmp_path / "a.jpg"
    profile = published_profile("vips_cmyk")
    Image.fromarray(scene(40, 56, 4), "CMYK").save(path, icc_profile=profile)
    data = path.read_bytes()
    assert inspect(path).icc == profile
    for piece in (1, 2, data.count(b"ICC_PROFILE\0")):
        at = data.index(b"ICC_PROFILE\0" + bytes([piece])) - 4
        path.write_bytes(data[:at] + data[at + 2 + int.from_bytes(data[at + 2 : at + 4], "big") :])
        assert "a piece of its embedded profile is missing" in refusal(path).text, piece
    path.write_bytes(bytes(imagecodecs.jpeg8_encode(scene(40, 56, 3, np.uint16) >> 4, bitspersample=12)))
    assert refusal(path).code == "master_unsupported"
    path.write_bytes(bytes(imagecodecs.jpeg8_encode(scene(40, 56), lossless=True)))
    assert np.array_equal(all_of(path), scene(40, 56))


def test_one_pixel_and_none(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    path.write_bytes(png(1, 1, 8, 2, b"\0\x10\x20\x30"))
    assert all_of(path).tolist() == [[[16, 32, 48]]]
    for width, height in ((0, 1), (1, 0), (0, 0)):
        path.write_bytes(png(width, height, 8, 2, b"\0"))
        assert refusal(path).code == "master_damaged"
    tifffile.imwrite(tmp_path / "a.tif", scene(1, 1), photometric="rgb")
    assert read_all(tmp_path / "a.tif") == 1


def test_pixels_that_are_not_there(tmp_path: Path) -> None:
    """A PNG whole in its chunks, but with fewer rows packed than it claims."""
    (tmp_path / "a.png").write_bytes(png(10, 400, 8, 2, (b"\0" + bytes(30)) * 100))
    assert refusal(tmp_path / "a.png").code in ("master_truncated", "master_damaged")


@pytest.mark.parametrize(
    "box", [(0, 0, 41, 10), (0, 0, 10, 57), (-1, 0, 5, 5), (0, -1, 5, 5), (3, 3, 0, 5), (40, 0, 1, 1)]
)
def test_crops_outside_are_refused(tmp_path: Path, box: tuple[int, int, int, int]) -> None:
    (tmp_path / "p.png").write_bytes(FILES["p.png"])
    with pytest.raises(InputError) as caught:
        working_source(open_master(tmp_path / "p.png"), box)
    assert caught.value.code == "crop_outside"


@pytest.mark.source("EXIF", "tags Make, Model, LensModel, ExposureTime, FNumber, ISO, DateTimeOriginal and its offset")
def test_capture_facts(tmp_path: Path) -> None:
    Image.fromarray(scene(8, 9)).save(tmp_path / "a.jpg", exif=exif(6, more=True, colour_space=1))
    master = open_master(tmp_path / "a.jpg")
    assert (master.width_px, master.height_px) == (8, 9)
    assert dict(master.capture) == {
        "camera": "Acme Box One", "lens": "Lens 35", "exposure": "1/250 s", "aperture": "f/2.8", "iso": "400",
        "focal_length": "35 mm", "taken": "2026-05-01T18:30:00+02:00", "resolution": "300 ppi",
    }  # fmt: skip


def test_a_master_in_words(tmp_path: Path) -> None:
    Image.fromarray(scene(800, 900)).save(tmp_path / "a.jpg", exif=exif(1, more=True, colour_space=1))
    assert describe(open_master(tmp_path / "a.jpg")) == (
        "A JPEG of 900 x 800 pixels (0.7 megapixels), 8-bit RGB.",
        "Its colours are by its profile 'sRGB (IEC 61966-2-1)'.",
        "Taken with Acme Box One, Lens 35 on 2026-05-01: 1/250 s, f/2.8, 35 mm, ISO 400.",
    )
    tifffile.imwrite(tmp_path / "l.tif", scene(8, 9, 3, np.float32), photometric="cielab")
    assert describe(open_master(tmp_path / "l.tif")) == (
        "A TIFF of 9 x 8 pixels (a tiny picture), 32-bit floating-point Lab.",
    )


def test_a_look_through_finds_what_the_header_hides(tmp_path: Path) -> None:
    picture = scene(300, 9, 3, np.float32)
    picture[250, :3] = 2
    tifffile.imwrite(tmp_path / "a.tif", picture, photometric="rgb", iccprofile=srgb_profile())
    told: list[float] = []
    share = working_source(open_master(tmp_path / "a.tif")).examine(lambda _, done: told.append(done))
    assert share == pytest.approx(3 / 2700)
    assert told == [pytest.approx(128 / 300), pytest.approx(256 / 300), 1]
    picture[299, 8, 0] = np.nan
    tifffile.imwrite(tmp_path / "a.tif", picture, photometric="rgb", iccprofile=srgb_profile())
    source = working_source(open_master(tmp_path / "a.tif"))
    with pytest.raises(InputError) as caught:
        source.examine()
    assert caught.value.code == "master_not_finite"


def test_strips_may_be_read_again_and_left_early(tmp_path: Path) -> None:
    (tmp_path / "p.png").write_bytes(FILES["p.png"])
    source = working_source(open_master(tmp_path / "p.png"))
    first = next(iter(source.strips(7)))
    assert source.clamped_share is None
    whole = list(source.strips(7))
    assert [len(strip) for strip in whole] == [7, 7, 7, 7, 7, 5]
    assert np.array_equal(whole[0], first)
    assert source.clamped_share == 0
    assert whole[0].dtype == np.uint16


def test_large_canvases_lie_on_disk_and_leave_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    sheet = canvas((100, 50, 3), np.uint16, limit_bytes=1000)
    sheet[50:] = 7
    assert isinstance(sheet, np.memmap)
    assert (int(sheet[99, 0, 0]), list(tmp_path.iterdir())) == (7, [])
    assert not isinstance(canvas((10, 5, 3), np.uint16), np.memmap)


def test_turned_pictures_read_the_same_from_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    tifffile.imwrite(tmp_path / "a.tif", scene(40, 30), photometric="rgb", extratags=[(274, 3, 1, 6, True)])
    in_memory = all_of(tmp_path / "a.tif")
    monkeypatch.setattr("wallworthy.raster.read.canvas", lambda shape, dtype: canvas(shape, dtype, limit_bytes=10))
    strips = list(read_strips(inspect(tmp_path / "a.tif"), 9))
    assert np.array_equal(np.concatenate(strips), in_memory)
    assert in_memory.shape == (30, 40, 3)


def test_tags_that_lie_are_not_passed_over(tmp_path: Path) -> None:
    """A profile, a next picture or a list of strips that lies beyond the end: never read as if it were not stated."""
    path = tmp_path / "a.tif"
    for tag, count in ((34675, None), (273, None), (258, None), (273, 2**31), (34675, 2**32 - 1)):
        tifffile.imwrite(path, scene(40, 9), photometric="rgb", iccprofile=srgb_profile(), rowsperstrip=4)
        data = bytearray(path.read_bytes())
        with tifffile.TiffFile(path) as opened:
            place = opened.pages.first.tags[tag].offset
        struct.pack_into("<I", data, place + (8 if count is None else 4), len(data) + 1 if count is None else count)
        path.write_bytes(data)
        assert refusal(path).code == "master_damaged", (tag, count)
    tifffile.imwrite(path, scene(8, 9), photometric="rgb")
    with tifffile.TiffFile(path) as opened:
        end = opened.pages.next_page_offset
    data = bytearray(path.read_bytes())
    struct.pack_into("<I", data, end, len(data) + 2)
    path.write_bytes(data)
    assert "beyond the end" in refusal(path).text


@pytest.mark.parametrize(("tag", "change"), [(284, (284, 3, 1, 5)), (262, (261, 3, 1, 2))])
def test_how_colours_are_stored_is_not_guessed(tmp_path: Path, tag: int, change: tuple[int, ...]) -> None:
    """PlanarConfiguration 5, and no PhotometricInterpretation: a reader's guess would give rubble or a negative."""
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, scene(40, 9), photometric="rgb", iccprofile=srgb_profile())
    data = bytearray(path.read_bytes())
    with tifffile.TiffFile(path) as opened:
        struct.pack_into("<HHIH", data, opened.pages.first.tags[tag].offset, *change)
    path.write_bytes(data)
    assert "how its colours are stored" in refusal(path).text


@pytest.mark.parametrize(("height", "width"), [(60_000, 60_000), (8, 32), (16, 8)])
def test_jpeg_tiles_of_another_size_than_the_tile(tmp_path: Path, height: int, width: int) -> None:
    """A tile whose JPEG claims more would take its memory, one of another shape would come out as rubble."""
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, scene(48, 64), photometric="rgb", compression="jpeg", tile=(16, 16))
    data = path.read_bytes()
    frame = struct.pack(">BHBHH", 0xC0, 17, 8, 16, 16)
    assert frame in data
    path.write_bytes(data.replace(frame, struct.pack(">BHBHH", 0xC0, 17, 8, height, width)))
    assert "another picture" in refusal(path).text
