"""Light on the command line: lamps by name, lux from a photo, a proof in its light, and what the room wants."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from support.commands import Teller
from wallworthy.icc.standard import srgb_profile
from wallworthy.proof.exposure import factor_of_error


def shown(path: str) -> np.ndarray:
    with Image.open(path) as image:
        return np.asarray(image, dtype=np.float64)


@pytest.mark.practice
def test_a_proof_in_a_light_changes_the_picture_and_never_the_print(
    tell: Teller, master: Path, cmyk: Path, tmp_path: Path
) -> None:
    ticket = tell.ok("start", master, "--size", "20x30cm", "--profile", cmyk)["ticket"]
    plain = tell.ok("proof", ticket, "-o", tmp_path / "plain.png", "--lab", tmp_path / "plain.tif")
    room = tell.ok(
        "proof", ticket, "--light", "evening room", "-o", tmp_path / "room.png", "--lab", tmp_path / "room.tif"
    )
    assert plain["light"] is None
    assert plain["offered_correction"] is None
    assert room["light"] == "evening room"
    assert (tmp_path / "plain.tif").read_bytes() == (tmp_path / "room.tif").read_bytes()
    assert room["loss_mean_de00"] == plain["loss_mean_de00"]
    before, after = shown(plain["files"][0]["path"]), shown(room["files"][0]["path"])
    warmth = (after[..., 0] - after[..., 2]).mean() - (before[..., 0] - before[..., 2]).mean()
    assert warmth > 5
    assert room["display_white_match_cd_m2"] == pytest.approx(0.8762 * 80 / math.pi, rel=0.01)
    assert any("evening room" in sentence for sentence in room["sentences"])
    again = tell.ok("proof", ticket, "-o", tmp_path / "again.png")
    assert again["light"] is None
    assert np.array_equal(shown(again["files"][0]["path"]), before)


@pytest.mark.practice
def test_a_dim_room_offers_a_lighter_print_and_changes_nothing(tell: Teller, master: Path, cmyk: Path) -> None:
    started = tell.ok("start", master, "--size", "A5", "--profile", cmyk, "--light", "evening room")
    proof = tell.ok("proof", started["ticket"])
    assert proof["offered_correction"]["lightness"] > 1
    assert proof["correction"]["lightness"] == 0
    assert {"light_wants", "display_cannot_match"} <= {notice["code"] for notice in proof["notices"]}
    taken = tell.ok("proof", started["ticket"], "--correct", f"lightness={proof['offered_correction']['lightness']}")
    assert taken["offered_correction"] is None
    assert taken["range_before_lstar"] == proof["range_before_lstar"]


@pytest.mark.source("ISO3664", "P2, 500 lx of D50: nothing is wanted there")
def test_a_booth_wants_nothing(tell: Teller, master: Path, cmyk: Path) -> None:
    started = tell.ok("start", master, "--size", "A5", "--profile", cmyk, "--light", "viewing booth")
    proof = tell.ok("proof", started["ticket"])
    assert proof["offered_correction"] is None
    assert not {"light_wants", "display_cannot_match"} & {notice["code"] for notice in proof["notices"]}


@pytest.mark.source("CIE15", "LED-B3 is of about 4100 K")
def test_a_lamp_by_its_name(tell: Teller) -> None:
    light = tell.ok("light", "add", "lamp", "--lux", "300", "--spectrum", "LED-B3")["light"]
    assert light["cct_k"] == pytest.approx(4103, rel=0.006)
    assert len(light["spectrum"]) == 81
    assert tell.ok("light", "show", "lamp")["light"] == light
    assert tell.refused("light", "add", "other", "--lux", "300", "--spectrum", "LED-Q9")["code"] == "spectrum_unknown"


def sheet_photo(path: Path, level: float, facts: bool = True) -> Path:
    """A camera's JPEG of a blank sheet at a linear level."""
    code = round(255 * (1.055 * level ** (1 / 2.4) - 0.055))
    image = Image.fromarray(np.full((300, 400, 3), code, np.uint8))
    exif = Image.Exif()
    if facts:
        exif.get_ifd(0x8769).update({33434: (1, 60), 33437: (28, 10), 34855: 400})
    image.save(path, exif=exif, icc_profile=srgb_profile(), quality=95)
    return path


@pytest.mark.source("ISO2720", "reflected-light relation")
def test_lux_from_a_photo_of_a_blank_sheet(tell: Teller, tmp_path: Path) -> None:
    answer = tell.ok("light", "add", "wall", "--photo", sheet_photo(tmp_path / "sheet.jpg", 0.18))
    expected = math.pi / 0.85 * 12.5 * 2.8**2 * 60 / 400
    light = answer["light"]
    assert light["illuminance_lx"] == pytest.approx(expected, rel=0.02)
    low, high = light["illuminance_interval_lx"]
    assert math.sqrt(high / low) == pytest.approx(factor_of_error(0.18), rel=0.02)
    assert any(notice["code"] == "light_photo" and "factor" in notice["text"] for notice in answer["notices"])


@pytest.mark.practice
def test_photos_that_can_not_tell_are_refused(tell: Teller, tmp_path: Path) -> None:
    bare = sheet_photo(tmp_path / "bare.jpg", 0.18, facts=False)
    assert tell.refused("light", "add", "w", "--photo", bare)["code"] == "exposure_unknown"
    burnt = sheet_photo(tmp_path / "burnt.jpg", 0.99)
    assert tell.refused("light", "add", "w", "--photo", burnt)["code"] == "sheet_level"
    assert tell.refused("light", "add", "w", "--photo", burnt, "--lux", "80", status=2)["code"] == "lux_or_photo"


def test_a_proof_tells_one_brightness_for_its_paper(tell: Teller, master: Path, profile: Path) -> None:
    ticket = tell.ok("start", master, "--size", "9x6cm", "--profile", profile)["ticket"]
    answer = tell.ok("proof", ticket, "--light", "kitchen")
    told = re.findall(r"(\d+) cd/m²", " ".join(answer["sentences"]))
    assert told == [f"{answer['display_white_match_cd_m2']:.0f}"]
    usual = [notice["text"] for notice in tell.ok("light", "add", "stove", "--words", "kitchen")["notices"]]
    assert any("a usual paper's white there is as bright as a screen's at 81 cd/m²" in text for text in usual)
