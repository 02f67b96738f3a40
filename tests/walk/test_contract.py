"""The commands in sequence, on a published profile: fields, figures recomputed, files read back."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms

from support.colour_science import colour
from support.commands import Teller, in_process
from wallworthy.icc.standard import srgb_profile


def started(tell: Teller, master: Path, profile: Path, *more: str) -> str:
    return str(tell.ok("start", master, "--size", "20x30cm", "--profile", profile, *more)["ticket"])


@pytest.mark.practice
def test_a_first_evening_takes_three_commands(tell: Teller, tmp_path: Path, cmyk: Path) -> None:
    """A phone's JPEG, a zipped profile, no other record: three commands to a lab-ready sRGB JPEG."""
    import zipfile

    photo, zipped = tmp_path / "photo.jpg", tmp_path / "profiles.zip"
    Image.fromarray(np.random.default_rng(1).integers(0, 256, (300, 400, 3), np.uint8)).save(photo, quality=90)
    with zipfile.ZipFile(zipped, "w") as archive:
        archive.write(cmyk, "lab/paper.icc")
    ticket = tell.ok("start", photo, "--size", "10x15cm", "--profile", zipped)["ticket"]
    tell.ok("proof", ticket)
    final = tell.ok("final", ticket, "--format", "jpeg", "--delivery", "standard")
    with Image.open(final["files"][0]["path"]) as image:
        assert image.format == "JPEG"
        assert image.mode == "RGB"
        assert image.size == (final["width_px"], final["height_px"])
        assert image.info["icc_profile"] == srgb_profile()
        assert image.info["dpi"] == (300, 300)
    assert final["delivery"] == "standard"


@pytest.mark.source("Sharma2005", "the loss recomputed with another library's dE00")
def test_losses_can_be_recomputed_from_the_lab_file(tell: Teller, master: Path, cmyk: Path, tmp_path: Path) -> None:
    ticket = started(tell, master, cmyk)
    lab_file = tmp_path / "print.tif"
    proof = tell.ok("proof", ticket, "-o", tmp_path / "p.png", "--lab", lab_file)
    lab = tifffile.imread(lab_file)
    assert lab.dtype == np.float32
    assert lab.shape == (proof["height_px"], proof["width_px"], 3)
    pixels = tifffile.imread(master).reshape(1, -1, 3)
    lab_profile = imagecodecs.cms_profile("lab2")
    before = imagecodecs.cms_transform(
        pixels.astype(np.float64) / 65535,
        srgb_profile(),
        lab_profile,
        colorspace="rgb",
        outcolorspace="lab",
        outdtype="f8",
        intent=1,
        flags=imagecodecs.CMS.FLAGS.NOOPTIMIZE,
    ).reshape(-1, 3)
    after = relative_to_paper(lab.reshape(-1, 3), cmyk)
    loss = colour.delta_E(before, after, method="CIE 2000")
    assert proof["loss_mean_de00"] == pytest.approx(loss.mean(), abs=0.02)
    assert proof["loss_p95_de00"] == pytest.approx(np.quantile(loss, 0.95), abs=0.05)
    assert proof["loss_max_de00"] == pytest.approx(loss.max(), abs=0.15)


def relative_to_paper(lab: np.ndarray[Any, Any], profile: Path) -> np.ndarray[Any, Any]:
    """Media-absolute Lab to Lab relative to the paper, by colour-science and Pillow's reading of the white."""
    paper = ImageCms.getOpenProfile(str(profile)).profile.media_white_point[0]
    d50 = np.array([0.9642, 1.0, 0.8249])
    d50_xy = colour.XYZ_to_xy(d50)
    xyz = colour.Lab_to_XYZ(lab, d50_xy) * d50 / np.array(paper)
    return np.asarray(colour.XYZ_to_Lab(xyz, d50_xy))


@pytest.mark.source("ICC2022", "the CMM's own unoptimised conversion")
@pytest.mark.parametrize("way", ["perceptual", "relative", "relative-bpc", "absolute"])
def test_a_standard_way_is_the_cmms_own_conversion(
    tell: Teller, master: Path, cmyk: Path, tmp_path: Path, way: str
) -> None:
    """No correction, no sharpening, no resampling: the file's inks are littleCMS's within the table's error."""
    ticket = started(tell, master, cmyk, "--way", way)
    ppi = 360 / (200 / 25.4)  # 360 pixels on 200 mm: nothing is resampled
    final = tell.ok(
        "final", ticket, "-o", tmp_path / "f.tif", "--sharpen", "none", "--ppi", f"{ppi:.6f}", "--bits", "16"
    )
    pixels = tifffile.imread(master)
    assert (final["height_px"], final["width_px"]) == pixels.shape[:2]
    flags = imagecodecs.CMS.FLAGS.NOOPTIMIZE
    if way == "relative-bpc":
        flags |= imagecodecs.CMS.FLAGS.BLACKPOINTCOMPENSATION
    intent = {"perceptual": 0, "relative": 1, "relative-bpc": 1, "absolute": 3}[way]
    inks = imagecodecs.cms_transform(
        pixels, srgb_profile(), cmyk.read_bytes(), colorspace="rgb", outcolorspace="cmyk", intent=intent, flags=flags
    )
    ours = tifffile.imread(tmp_path / "f.tif")
    difference = colour.delta_E(_lab(ours, cmyk), _lab(inks, cmyk), method="CIE 2000")
    assert difference.mean() < 0.1
    assert np.quantile(difference, 0.999) < 0.5
    assert difference.max() < 1.5


def _lab(inks: np.ndarray[Any, Any], profile: Path) -> np.ndarray[Any, Any]:
    found = imagecodecs.cms_transform(
        inks,
        profile.read_bytes(),
        imagecodecs.cms_profile("lab2"),
        colorspace="cmyk",
        outcolorspace="lab",
        outdtype="f8",
        intent=1,
        flags=imagecodecs.CMS.FLAGS.NOOPTIMIZE,
    )
    return np.asarray(found)


@pytest.mark.practice
def test_the_final_is_what_its_answer_says(tell: Teller, master: Path, cmyk: Path, tmp_path: Path) -> None:
    ticket = started(tell, master, cmyk, "--border", "10")
    final = tell.ok("final", ticket, "-o", tmp_path / "f.tif", "--ppi", "150")
    with tifffile.TiffFile(tmp_path / "f.tif") as file:
        page = file.pages[0]
        pixels = page.asarray()
        assert page.tags["InterColorProfile"].value == cmyk.read_bytes()
    assert hashlib.sha256(np.ascontiguousarray(pixels).tobytes()).hexdigest() == final["pixels_sha256"]
    assert pixels.shape == (final["height_px"], final["width_px"], 4)
    top, left, height, width = final["picture_box_px"]
    edge = round(10 / 25.4 * 150)
    assert (top, left) == (edge, edge)
    assert (width, height) == tuple(round(mm / 25.4 * 150) for mm in final["size_mm"])
    assert not pixels[:edge].any()
    assert not pixels[:, -edge:].any()
    assert final["margins_mm"] == pytest.approx([10] * 4, abs=0.1)
    card = json.loads(Path(final["card"]["json"]).read_text())
    assert card
    assert Path(final["card"]["text"]).read_text().strip()


@pytest.mark.practice
def test_again_makes_the_same_bytes(tell: Teller, master: Path, cmyk: Path, tmp_path: Path) -> None:
    ticket = started(tell, master, cmyk)
    tell.ok("proof", ticket, "--correct", "lightness=2,chroma=1.05")
    first = tell.ok("final", ticket, "-o", tmp_path / "one.tif", "--ppi", "100", "--bits", "8")
    tell.ok("proof", ticket, "--correct", "none")
    again = tell.ok("final", ticket, "-o", tmp_path / "two.tif", "--again")
    assert again["correction"] == first["correction"]
    assert again["pixels_sha256"] == first["pixels_sha256"]
    assert (tmp_path / "one.tif").read_bytes() == (tmp_path / "two.tif").read_bytes()


@pytest.mark.practice
def test_a_correction_stays_with_the_ticket_and_none_clears_it(tell: Teller, master: Path, cmyk: Path) -> None:
    ticket = started(tell, master, cmyk)
    plain = tell.ok("proof", ticket)
    corrected = tell.ok("proof", ticket, "--correct", "lightness=3")
    assert corrected["loss_mean_de00"] != plain["loss_mean_de00"]
    shown = tell.ok("show", ticket)
    assert shown["correction"]["lightness"] == 3
    assert shown["correction_origin"] == "user"
    assert [event["kind"] for event in shown["events"]] == ["started", "proofed", "proofed"]
    cleared = tell.ok("proof", ticket, "--correct", "none")
    assert cleared["loss_mean_de00"] == plain["loss_mean_de00"]


@pytest.mark.practice
def test_sizes_and_crops_are_placed_as_promised(tell: Teller, master: Path, cmyk: Path) -> None:
    """360 x 240 pixels are 3 : 2; a named size turns, one in numbers does not."""
    tell.ok("condition", "add", "press", "--profile", cmyk)

    def size(*words: str) -> list[float]:
        return list(tell.ok("start", master, "--on", "press", *words)["size_mm"])

    assert size("--size", "A3") == pytest.approx([420, 280])
    assert size("--size", "30x40cm") == pytest.approx([300, 200])
    assert size("--size", "300x200mm", "--fill") == pytest.approx([300, 200])
    assert size("--size", "10x10cm", "--fill") == pytest.approx([100, 100])
    assert size("--size", "8x10in") == pytest.approx([203.2, 135.47])
    assert size("--size", "10x10cm", "--crop", "0,0,240,120") == pytest.approx([50, 100])


@pytest.mark.practice
def test_a_paper_in_words_needs_no_profile(tell: Teller, master: Path) -> None:
    answer = tell.ok("start", master, "--size", "A5", "--paper", "matt", "--light", "evening room")
    assert "guess" in {notice["code"] for notice in answer["notices"]}
    condition = tell.ok("condition", "show", answer["condition"])["condition"]
    assert condition["guess"] is True
    assert condition["delivery"] == "standard"
    proof = tell.ok("proof", answer["ticket"])
    assert proof["display_white_match_cd_m2"] > 0


@pytest.mark.practice
def test_two_processes_at_once_both_work(tell: Teller, master: Path, cmyk: Path) -> None:
    from concurrent.futures import ThreadPoolExecutor

    tell.ok("condition", "add", "press", "--profile", cmyk)
    words = ("start", master, "--size", "A5", "--on", "press")
    with ThreadPoolExecutor(2) as pool:
        done = list(pool.map(lambda _: in_process(tell.home, words), range(4)))
    tickets = [json.loads(one.stdout)["ticket"] for one in done]
    assert sorted(tickets) == ["T1", "T2", "T3", "T4"]
    assert len(tell.ok("tickets")["tickets"]) == 4


@pytest.mark.practice
def test_the_master_is_never_touched(tell: Teller, master: Path, cmyk: Path) -> None:
    before = (master.read_bytes(), master.stat().st_mtime_ns)
    ticket = started(tell, master, cmyk)
    tell.ok("proof", ticket)
    tell.ok("final", ticket, "--ppi", "72")
    for words in (("final", ticket, "-o", master, "--force"), ("proof", ticket, "--lab", master)):
        assert tell.refused(*words)["code"] == "target_is_master"
    assert (master.read_bytes(), master.stat().st_mtime_ns) == before


@pytest.mark.source("ISO18619", "white is kept, so bare paper stays bare")
def test_paper_white_takes_no_ink_whatever_the_correction(tell: Teller, cmyk: Path, tmp_path: Path) -> None:
    white = tmp_path / "white.tif"
    tifffile.imwrite(white, np.full((60, 60, 3), 65535, np.uint16), photometric="rgb", iccprofile=srgb_profile())
    ticket = started(tell, white, cmyk)
    tell.ok("proof", ticket, "--correct", "lightness=-6,contrast=1.2,green_red=4,blue_yellow=-5,chroma=1.3")
    tell.ok("final", ticket, "-o", tmp_path / "w.tif", "--bits", "8", "--ppi", "72")
    assert not tifffile.imread(tmp_path / "w.tif").any()
