"""Bare paper round the picture: one width, or one for each side, down to the file's pixels."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import tifffile

import wallworthy as ww
from support.commands import Teller

pytestmark = pytest.mark.practice
SIDES_MM = (5.0, 10.0, 20.0, 12.5)


def test_a_print_may_have_four_widths_of_bare_paper(tell: Teller, master: Path, cmyk: Path, tmp_path: Path) -> None:
    sides = ",".join(f"{width:g}" for width in SIDES_MM)
    started = tell.ok("start", master, "--size", "10x15cm", "--profile", cmyk, "--border", sides)
    width, height = started["size_mm"]
    outer = next(notice["text"] for notice in started["notices"] if notice["code"] == "border_outside")
    assert f"{(width + 22.5) / 10:.1f} x {(height + 25) / 10:.1f} cm" in outer
    final = tell.ok("final", started["ticket"], "-o", tmp_path / "f.tif", "--ppi", "200")
    assert final["margins_mm"] == pytest.approx(SIDES_MM, abs=25.4 / 200 / 2 + 1e-9)
    pixels = tifffile.imread(tmp_path / "f.tif")
    top, right, bottom, left = (round(width / 25.4 * 200) for width in SIDES_MM)
    rows, columns = pixels.shape[:2]
    assert final["picture_box_px"] == [top, left, rows - top - bottom, columns - left - right]
    inked = np.argwhere(pixels.any(axis=-1))
    assert inked.min(axis=0).tolist() == [top, left]
    assert (inked.max(axis=0) + 1).tolist() == [rows - bottom, columns - right]
    card = json.loads(Path(final["card"]["json"]).read_text())
    assert card["margins_mm"] == pytest.approx(SIDES_MM, abs=0.12)
    assert "Border: top 5" in Path(final["card"]["text"]).read_text()


def test_four_alike_are_what_one_number_means(tell: Teller, master: Path, cmyk: Path, tmp_path: Path) -> None:
    sums = set()
    for name, words in (("one", "7"), ("four", "7, 7,7mm,0.7cm")):
        ticket = tell.ok("start", master, "--size", "10x15cm", "--profile", cmyk, "--border", words)["ticket"]
        final = tell.ok("final", ticket, "-o", tmp_path / f"{name}.tif", "--ppi", "72")
        assert len(set(final["margins_mm"])) == 1
        sums.add(final["pixels_sha256"])
    assert len(sums) == 1


@pytest.mark.parametrize(
    ("words", "code", "status"),
    [
        ("wide", "border_unclear", 2),
        ("nan", "border_unclear", 2),
        ("5,inf,5,5", "border_unclear", 2),
        ("5,5", "border_unclear", 2),
        ("2ells", "border_unclear", 2),
        ("5,5,5", "border_unclear", 2),
        ("5,5,5,5,5", "border_unclear", 2),
        ("5,,5,5", "border_unclear", 2),
        ("", "border_unclear", 2),
        ("-3", "border_absurd", 3),
        ("5,5,501,5", "border_absurd", 3),
    ],
)
def test_a_border_that_is_none_is_refused(tell: Teller, master: Path, words: str, code: str, status: int) -> None:
    error = tell.refused("start", master, "--size", "A4", "--paper", "matt", f"--border={words}", status=status)
    assert (error["code"], error["where"]) == (code, "--border")
    assert error["text"].endswith(".")
    assert tell.ok("tickets")["tickets"] == []


def test_the_library_takes_four_as_well(master: Path, cmyk: Path, tmp_path: Path) -> None:
    opened, condition = ww.open_master(master), ww.read_condition(cmyk, name="press")
    facts = ww.write_final(opened, condition, tmp_path / "f.tif", size="10x15cm", ppi=100, border_mm=(0, 0, 25.4, 12.7))
    top, left, height, width = facts.picture_box_px
    assert (top, left, facts.height_px - height, facts.width_px - width) == (0, 50, 100, 50)
