"""The command `appraise`: its fields, what each option changes, what it refuses, and the annotated picture."""

from __future__ import annotations

import itertools
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from support.appraised import corners, edge_field, photo_of, sky
from support.commands import Teller
from wallworthy.base.errors import InputError
from wallworthy.cli.run import run
from wallworthy.icc.standard import srgb_profile
from wallworthy.raster.form import FileForm
from wallworthy.raster.write import write_picture

pytestmark = pytest.mark.practice

GRADES = {"as_good": 1, "fine": 3, "little_soft": 6, "soft": 10}


@pytest.fixture(scope="module")
def scene(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sharp scene, 600 x 600 pixels, with a little noise."""
    path = tmp_path_factory.mktemp("scene") / "scene.png"
    field = corners(size=600) + np.random.default_rng(2).normal(0, 0.006, (600, 600))
    Image.fromarray(photo_of(field)).save(path, icc_profile=srgb_profile())
    return path


def grade_of(jnd: float) -> str:
    return next((grade for grade, limit in GRADES.items() if jnd < limit), "too_soft")


def test_the_fields_are_those_promised(tell: Teller, scene: Path) -> None:
    answer = tell.ok("appraise", scene, "--size", "10x10cm", "--from", "50cm")
    assert answer["command"] == "appraise"
    master = answer["master"]
    assert (master["width_px"], master["height_px"], master["bits"], master["space"]) == (600, 600, 8, "RGB")
    assert len(master["sha256"]) == 64
    assert answer["size_mm"] == [100, 100]
    assert answer["distance_mm"] == 500
    assert answer["density_ppi"] == pytest.approx(152.4)
    assert answer["grade"] == grade_of(answer["deficit_jnd"])
    low, high = answer["deficit_interval_jnd"]
    assert 0 <= low <= answer["deficit_jnd"] <= high
    assert 0.9 <= answer["effective_fraction"] <= 1
    assert answer["noise_tones"]
    assert len(answer["clipped_high_pct"]) == len(answer["clipped_low_pct"]) == 3
    told = [one["visibility_jnd"] * one["confidence"] for one in answer["findings"]]
    assert all(a >= b - 0.02 for a, b in itertools.pairwise(told))
    assert len(answer["ladder"]) == 9
    assert [notice["code"] for notice in answer["notices"]] == ["generic_inkjet"]
    assert answer["files"] == []


def test_larger_is_softer_and_farther_is_better(tell: Teller, scene: Path) -> None:
    small, large = (tell.ok("appraise", scene, "--size", f"{cm}x{cm}cm", "--from", "40cm") for cm in (5, 40))
    assert small["deficit_jnd"] < large["deficit_jnd"]
    assert large["grade"] in ("soft", "too_soft")
    best, near = large["largest_good_size_mm"], large["nearest_good_distance_mm"]
    at_best = tell.ok("appraise", scene, "--size", f"{best[0] * 0.99}x{best[1] * 0.99}mm", "--from", "40cm")
    assert at_best["deficit_jnd"] < 3
    assert tell.ok("appraise", scene, "--size", "40x40cm", "--from", f"{near * 1.01}mm")["deficit_jnd"] < 3
    assert tell.ok("appraise", scene, "--size", "40x40cm", "--from", f"{near * 0.9}mm")["deficit_jnd"] > 3


def test_without_a_distance_it_is_seen_from_its_diagonal(tell: Teller, scene: Path) -> None:
    answer = tell.ok("appraise", scene, "--size", "30x30cm")
    assert answer["distance_mm"] == pytest.approx(424.3)
    assert not answer["indicative"]
    assert tell.ok("appraise", scene, "--size", "30x30cm", "--from", "3cm")["indicative"]


def test_a_crop_has_fewer_pixels_for_the_same_size(tell: Teller, scene: Path) -> None:
    whole = tell.ok("appraise", scene, "--size", "10x10cm", "--from", "40cm")
    part = tell.ok("appraise", scene, "--size", "10x10cm", "--from", "40cm", "--crop", "100,200,300,300")
    assert part["crop_px"] == [100, 200, 300, 300]
    assert part["density_ppi"] == pytest.approx(whole["density_ppi"] / 2)
    assert part["deficit_jnd"] > whole["deficit_jnd"]
    for one in part["findings"]:
        if one["box_px"]:
            assert one["box_px"][0] >= 100
            assert one["box_px"][1] >= 200


def test_light_condition_and_ink_spread_change_the_figure(tell: Teller, scene: Path, cmyk: Path) -> None:
    def deficit(*more: str) -> float:
        return float(tell.ok("appraise", scene, "--size", "20x20cm", "--from", "60cm", *more)["deficit_jnd"])

    plain = deficit()
    assert deficit("--light", "bright viewing booth") > plain > deficit("--light", "bedroom")
    assert deficit("--ink-spread", "3") < plain
    tell.ok("paper", "add", "rough", "--surface", "canvas")
    tell.ok("condition", "add", "press", "--profile", cmyk, "--paper", "rough")
    answer = tell.ok("appraise", scene, "--size", "20x20cm", "--from", "60cm", "--on", "press")
    assert answer["condition"] == "press"
    assert answer["deficit_jnd"] < plain
    assert "generic_inkjet" not in [notice["code"] for notice in answer["notices"]]


def scan_of(path: Path, sigma_px: float) -> Path:
    """A printed edge as a scanner gives it: linear light of a known spread, coded as sRGB in 16 bits."""
    light = edge_field(sigma_px, 8, low=0.1, high=0.8)
    codes = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    strip = np.repeat(np.rint(codes * 65535).astype(np.uint16)[..., None], 3, axis=2)
    write_picture(path, [strip], FileForm("tiff", *light.shape[::-1], 3, 16, "RGB", 1200.0, srgb_profile()))
    return path


@pytest.mark.source("ISO12233", "MTF50 of a Gaussian edge = 0.187391 / sigma")
def test_a_condition_keeps_its_ink_spread(tell: Teller, scene: Path, cmyk: Path, tmp_path: Path) -> None:
    def deficit(*more: str) -> float:
        answer = tell.ok("appraise", scene, "--size", "20x20cm", "--from", "60cm", "--on", "press", *more)
        return float(answer["deficit_jnd"])

    tell.ok("condition", "add", "press", "--profile", cmyk)
    before = deficit()
    kept = tell.ok("condition", "ink-spread", "press", "--cycles", "3")["condition"]
    assert kept["ink_spread_per_mm"] == 3
    assert deficit() == deficit("--ink-spread", "3") != before
    assert deficit("--ink-spread", "6") == before
    scan = scan_of(tmp_path / "edge.tif", 0.187391 / (5.0 / (1200 / 25.4)))
    answer = tell.ok("condition", "ink-spread", "press", "--scan", scan, "--ppi", "1200")
    measured = answer["condition"]["ink_spread_per_mm"]
    assert measured == pytest.approx(5.0, rel=0.03)
    assert "spread_measured" in [notice["code"] for notice in answer["notices"]]
    tell.capsys.readouterr()
    assert run(["--home", str(tell.home), "condition", "show", "press"]) == 0
    assert f"half the contrast at {measured:g} cycles per mm" in " ".join(tell.capsys.readouterr().out.split())
    soft = scan_of(tmp_path / "soft.tif", 0.187391 / (1.5 / (600 / 25.4)))
    [text] = [
        notice["text"]
        for notice in tell.ok("condition", "ink-spread", "press", "--scan", soft, "--ppi", "600")["notices"]
        if notice["code"] == "spread_measured"
    ]
    assert "was the scan in focus" in text
    assert tell.ok("condition", "ink-spread", "press", "--forget")["condition"]["ink_spread_per_mm"] is None
    assert deficit() == before


def test_what_can_not_tell_ink_spread_is_refused(tell: Teller, scene: Path, cmyk: Path, tmp_path: Path) -> None:
    tell.ok("condition", "add", "press", "--profile", cmyk)
    bare = tmp_path / "bare.png"
    Image.fromarray(np.full((300, 300, 3), 180, np.uint8)).save(bare, icc_profile=srgb_profile())
    for words, code in (
        (("--cycles", "100"), "ink_spread_absurd"),
        (("--scan", bare, "--ppi", "1200"), "scan_edges"),
        (("--scan", bare, "--ppi", "150"), "scan_ppi_absurd"),
        (("--scan", scene, "--ppi", "2400"), "scan_too_sharp"),
    ):
        assert tell.refused("condition", "ink-spread", "press", *words)["code"] == code
    for words in ((), ("--cycles", "5", "--forget"), ("--scan", bare)):
        tell.refused("condition", "ink-spread", "press", *words, status=2)
    assert tell.ok("condition", "show", "press")["condition"]["ink_spread_per_mm"] is None


def test_a_condition_tells_what_it_can_not_hold(tell: Teller, tmp_path: Path, cmyk: Path) -> None:
    path = tmp_path / "vivid.png"
    rows, columns = np.mgrid[0:256, 0:256]
    vivid = np.stack([columns, 255 - columns, np.where(rows < 128, 0, 255)], axis=-1).astype(np.uint8)
    Image.fromarray(vivid).save(path, icc_profile=srgb_profile())
    tell.ok("condition", "add", "press", "--profile", cmyk)
    found = tell.ok("appraise", path, "--size", "10x10cm", "--on", "press")["findings"]
    [beyond] = [one for one in found if one["kind"] == "out_of_range"]
    row, column, height, width = beyond["box_px"]
    assert height * width > 1000
    assert row + height <= 256 + 4
    assert column + width <= 256 + 4


def test_what_conversion_would_cut_off_is_told_channel_by_channel(tell: Teller, tmp_path: Path) -> None:
    """A quarter of the picture is a green that sRGB lacks: red below nothing, green above all; the rest is grey."""
    import tifffile

    import wallworthy as ww
    from wallworthy.icc.standard import wide_profile

    path = tmp_path / "green.tif"
    samples = np.full((256, 256, 3), 30_000, np.uint16)
    samples[:128, :128] = (2000, 60_000, 2000)
    tifffile.imwrite(path, samples, photometric="rgb", iccprofile=wide_profile())
    found = tell.ok("appraise", path, "--size", "10x10cm")["findings"]
    [beyond] = [one for one in found if one["kind"] == "out_of_range"]
    told = dict(re.findall(r"(red|green|blue) \(([\d.]+) %\)", beyond["text"]))
    assert {"red", "green"} <= set(told)
    assert set(told.values()) == {"25.0"}
    assert beyond["box_px"] == [0, 0, 128, 128]
    matt = ww.appraise_master(ww.open_master(path), size="10x10cm", condition=ww.generic_condition("matt"))
    [on_matt] = [one for one in matt.findings if one.kind == "out_of_range"]
    assert "green (25.0 %)" in on_matt.text
    assert "red (" not in on_matt.text, "only what stands at its end is named"


def test_the_annotated_picture_shows_where(tell: Teller, tmp_path: Path) -> None:
    field = sky(4)
    field[100:140, 60:130] = 255.0
    path, out = tmp_path / "sky.png", tmp_path / "where.png"
    Image.fromarray(photo_of(field / 255)).save(path, icc_profile=srgb_profile())
    answer = tell.ok("appraise", path, "--size", "20x20cm", "-o", out)
    [burnt] = [one for one in answer["findings"] if one["kind"] == "clipped_high"]
    assert burnt["box_px"] == [100, 60, 40, 70]
    assert [file["role"] for file in answer["files"]] == ["appraisal"]
    with Image.open(out) as image:
        shown, profile = np.asarray(image), image.info["icc_profile"]
    assert profile == srgb_profile()
    scale = shown.shape[0] / 640
    assert shown.shape[1] == shown.shape[0] == 1600
    border = shown[round(120 * scale), round(60 * scale) - 6 : round(60 * scale) + 2].min(axis=-1)
    assert border.min() < 60, "a dark outline at the left edge of the place"
    untouched = shown[round(500 * scale), round(500 * scale)].astype(int)
    assert np.abs(untouched - field[490:510, 490:510].mean()).max() < 12


REFUSED = [
    (("--size", "huge"), "size_unclear"),
    (("--size", "A4", "--from", "near"), "distance_unclear"),
    (("--size", "A4", "--on", "nothing"), "condition_unknown"),
    (("--size", "A4", "--crop", "0,0,9999,9999"), "crop_outside"),
    (("--size", "A4", "--subject", "5,5"), "crop_unclear"),
    (("--size", "A4", "--ink-spread", "0"), "ink_spread_absurd"),
    (("--size", "A4", "--ink-spread", "nan"), "ink_spread_absurd"),
    (("--size", "A4", "-o", "picture.jpg"), "suffix"),
    (("--size", "A4", "-o", "no/such/folder/p.png"), "folder_missing"),
]


@pytest.mark.parametrize(("words", "code"), REFUSED, ids=[code for _, code in REFUSED])
def test_what_can_not_be_is_refused_in_a_sentence(tell: Teller, scene: Path, words: tuple[str, ...], code: str) -> None:
    assert tell.refused("appraise", scene, *words)["code"] == code


def test_the_master_is_never_written_to(tell: Teller, scene: Path) -> None:
    before = scene.read_bytes()
    assert tell.refused("appraise", scene, "--size", "A4", "-o", scene, "--force")["code"] == "target_is_master"
    assert scene.read_bytes() == before
    assert tell.refused("appraise", scene, "--size", "A4", "--fill", "--crop", "0,0,9,9", status=2)["code"]


@pytest.mark.parametrize("shape", [(1, 1, 3), (3, 500, 3), (17, 9, 3), (64, 64, 3)])
def test_tiny_and_flat_pictures_are_answered(tell: Teller, tmp_path: Path, shape: tuple[int, int, int]) -> None:
    path = tmp_path / "tiny.png"
    Image.fromarray(np.full(shape, 130, np.uint8)).save(path)
    answer = tell.ok("appraise", path, "--size", "10x15cm")
    assert answer["effective_fraction"] is None
    assert answer["deficit_jnd"] >= 0


def test_what_is_good_at_no_size_and_from_nowhere_is_said_so(tell: Teller, tmp_path: Path) -> None:
    path = tmp_path / "one.png"
    Image.fromarray(np.full((1, 1, 3), 130, np.uint8)).save(path)
    told = " ".join(tell.ok("appraise", path, "--size", "A4")["sentences"])
    assert "good at no size" in told
    assert "not good even from 100.0 m" in told
    assert "good up to" not in told
    Image.fromarray(np.full((1, 512, 3), 130, np.uint8)).save(path)
    assert "29.7 x 0.06 cm" in " ".join(tell.ok("appraise", path, "--size", "A4")["sentences"])


@pytest.mark.parametrize("mode", ["L", "CMYK", "I;16", "LAB", "F"])
def test_other_kinds_of_file_are_answered(tell: Teller, tmp_path: Path, mode: str, cmyk: Path) -> None:
    import tifffile

    from wallworthy.icc.standard import grey_profile

    path = tmp_path / "other.tif"
    field = corners(size=256)
    kinds: dict[str, tuple[Any, dict[str, Any]]] = {
        "L": (np.rint(field * 255).astype(np.uint8), {"photometric": "minisblack", "iccprofile": grey_profile()}),
        "I;16": (np.rint(field * 65535).astype(np.uint16), {"photometric": "minisblack", "iccprofile": grey_profile()}),
        "CMYK": (
            np.repeat(np.rint(field * 255).astype(np.uint8)[..., None], 4, axis=2),
            {"photometric": "separated", "iccprofile": cmyk.read_bytes()},
        ),
        "LAB": (
            np.stack([field * 100, field * 0, field * 0], axis=-1).astype(np.float32),
            {"photometric": "cielab"},
        ),
        "F": (
            np.repeat(field.astype(np.float32)[..., None], 3, axis=2) * 1.3,
            {"photometric": "rgb", "iccprofile": srgb_profile()},
        ),
    }
    samples, tags = kinds[mode]
    tifffile.imwrite(path, samples, **tags)
    answer = tell.ok("appraise", path, "--size", "10x10cm")
    assert answer["effective_fraction"] is not None
    assert answer["effective_fraction"] > 0.85
    channels = 1 if mode in ("L", "I;16") else 4 if mode == "CMYK" else 3
    assert len(answer["clipped_high_pct"]) == channels
    if mode == "F":
        expected = 100 * float((field.astype(np.float32) * 1.3 >= 1).mean())
        assert answer["clipped_high_pct"][0] == pytest.approx(expected, abs=0.1)


def test_it_is_told_in_sentences(scene: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from wallworthy.cli.run import run

    assert run(["--home", str(tmp_path / "home"), "appraise", str(scene), "--size", "A4", "--from", "50cm"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("21 x 21 cm from 50 cm: ")
    assert "Deficit" in told
    assert "Next: " in told
    assert "100 x 100 cm" in told


def test_the_library_says_what_the_command_says(tell: Teller, scene: Path) -> None:
    import wallworthy as ww

    told = tell.ok("appraise", scene, "--size", "20x20cm", "--from", "60cm", "--crop", "0,0,500,500")
    found = ww.appraise_master(ww.open_master(scene), size="20x20cm", distance="60cm", crop=(0, 0, 500, 500))
    assert found.deficit_jnd == told["deficit_jnd"]
    assert found.grade == told["grade"]
    assert [one.kind for one in found.findings] == [one["kind"] for one in told["findings"]]
    with pytest.raises(InputError, match="outside"):
        ww.appraise_master(ww.open_master(scene), size="20x20cm", subject=(0, 0, 9999, 1))
