"""Test sheets and verdicts by the commands: CONTRACT's promises about tiles, verdicts, sd and advice."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from support.commands import Teller

pytestmark = pytest.mark.practice

PLAIN = {"lightness": 0, "contrast": 1, "shadow": 0, "green_red": 0, "blue_yellow": 0, "chroma": 1}


@pytest.fixture
def ticket(tell: Teller, master: Path, cmyk: Path) -> str:
    return str(tell.ok("start", master, "--size", "20x30cm", "--profile", cmyk)["ticket"])


def sheet(tell: Teller, ticket: str, *more: str) -> Any:
    return tell.ok("test", ticket, "--ppi", "120", *more)


def test_tiles_lie_on_the_sheet_apart_and_show_the_plain_fit(tell: Teller, ticket: str, cmyk: Path) -> None:
    answer = sheet(tell, ticket)
    width, height = answer["sheet_mm"]
    assert {round(width), round(height)} == {150, 100}
    assert len(answer["tiles"]) == 6
    assert len({tile["code"] for tile in answer["tiles"]}) == 6
    boxes = [tile["box_mm"] for tile in answer["tiles"]]
    assert all(x >= 0 and y >= 0 and x + w <= width and y + h <= height for x, y, w, h in boxes)
    for (x, y, w, h), (x2, y2, w2, h2) in combinations(boxes, 2):
        assert max(x2 - x - w, x - x2 - w2, y2 - y - h, y - y2 - h2) >= 3 - 1e-6
    assert PLAIN in [tile["correction"] for tile in answer["tiles"]]
    pixels = tifffile.imread(answer["files"][0]["path"])
    assert pixels.shape == (round(height / 25.4 * 120), round(width / 25.4 * 120), 4)
    assert not pixels[:4].any(), "the rim is bare paper"
    with tifffile.TiffFile(answer["files"][0]["path"]) as file:
        assert file.pages[0].tags["InterColorProfile"].value == cmyk.read_bytes()
    assert answer["design_s"] < 30
    assert answer["expected_de00"] > 0


def test_a_consistent_verdict_narrows_and_moves_the_ticket(tell: Teller, ticket: str) -> None:
    first = sheet(tell, ticket)
    lightest = max(first["tiles"], key=lambda tile: tile["correction"]["lightness"])["code"]
    one = tell.ok("judge", ticket, "--best", lightest)
    assert one["correction"]["lightness"] > 0
    second = sheet(tell, ticket)
    assert second["sheet_no"] == 2
    again = max(second["tiles"], key=lambda tile: tile["correction"]["lightness"])
    two = tell.ok("judge", ticket, "--best", again["code"], "--say", f"{again['code']} right")
    assert two["sd"]["lightness"] < one["sd"]["lightness"]
    assert two["expected_de00"] < one["expected_de00"]
    assert two["p90_de00"] > 0
    assert two["advice"] in ("print", "test")
    shown = tell.ok("show", ticket)
    assert shown["correction"] == pytest.approx(two["correction"])
    assert shown["sheets"] == 2
    assert shown["promise"]["said"]["best"] == again["code"]


@pytest.mark.parametrize(
    ("words", "axis", "up"),
    [
        (("--say", "too dark"), "lightness", True),
        (("--say", "clearly too light"), "lightness", False),
        (("--say", "too green"), "green_red", True),
        (("--say", "a touch too yellow"), "blue_yellow", False),
    ],
)
def test_words_alone_move_their_axis(tell: Teller, ticket: str, words: tuple[str, ...], axis: str, up: bool) -> None:
    answer = sheet(tell, ticket, "--mode", "whole")
    assert len(answer["tiles"]) == 1
    judged = tell.ok("judge", ticket, *words)
    assert (judged["correction"][axis] > PLAIN[axis]) is up
    assert judged["said"][0]["axis"] == axis


def by_lightness(answer: Any) -> list[str]:
    return [tile["code"] for tile in sorted(answer["tiles"], key=lambda tile: tile["correction"]["lightness"])]


def test_a_contradiction_widens_and_says_so(tell: Teller, ticket: str) -> None:
    """First even the lightest tile is clearly too dark, then even the darkest clearly too light."""
    for _ in range(2):
        lightest = by_lightness(sheet(tell, ticket))[-1]
        one = tell.ok("judge", ticket, "--best", lightest, "--say", f"{lightest} clearly too dark")
    darkest = by_lightness(sheet(tell, ticket))[0]
    two = tell.ok("judge", ticket, "--best", darkest, "--say", f"{darkest} clearly too light")
    assert two["contradicts"]
    assert two["sd"]["lightness"] >= one["sd"]["lightness"]
    assert "contradiction" in {notice["code"] for notice in two["notices"]}


def test_slots_of_a_large_sheet_are_used_in_turn(tell: Teller, ticket: str) -> None:
    slots = [sheet(tell, ticket, "--sheet", "A4", "--slot", "next")["slot"] for _ in range(3)]
    assert slots == [1, 2, 3]


def test_separate_prints_are_separate_files(tell: Teller, ticket: str) -> None:
    answer = sheet(tell, ticket, "--mode", "prints", "--tiles", "4", "--sheet", "10x15cm")
    assert len(answer["files"]) == 4
    assert len({file["sha256"] for file in answer["files"]}) == 4
    for file in answer["files"]:
        pixels = tifffile.imread(file["path"])
        clear = round(5 / 25.4 * 120) - 1
        inside = pixels[clear:-clear, clear:-clear]
        assert pixels.any()
        assert np.count_nonzero(pixels) == np.count_nonzero(inside), "nothing nearer than 5 mm to the edge"
    assert "correction_off" in {notice["code"] for notice in answer["notices"]}


def test_the_next_picture_starts_where_verdicts_left_off(tell: Teller, ticket: str, master: Path, cmyk: Path) -> None:
    for _ in range(2):
        sheet(tell, ticket, "--mode", "whole")
        tell.ok("judge", ticket, "--say", "clearly too dark")
    other = tell.ok("start", master, "--size", "A5", "--profile", cmyk)
    assert other["correction_origin"] == "house"
    assert other["correction"]["lightness"] > 0
    house = tell.ok("house", other["ticket"])
    assert house["pictures"] == 1
    wider = tell.ok("house", other["ticket"], "--changed", "black ink")
    assert wider["sd"]["lightness"] > house["sd"]["lightness"]
    assert tell.ok("house", other["ticket"], "--reset")["pictures"] == 0
    assert tell.ok("start", master, "--size", "A5", "--profile", cmyk)["correction_origin"] == "zero"


def test_what_can_not_be_is_refused(tell: Teller, ticket: str) -> None:
    tell.refused("judge", ticket, "--best", "A1")
    answer = sheet(tell, ticket)
    tell.refused("judge", ticket)
    tell.refused("judge", ticket, "--best", "Z9")
    tell.refused("judge", ticket, "--best", "A1", "--next", "A1")
    tell.refused("judge", ticket, "--say", "A1 too loud by half a furlong")
    tell.refused("judge", ticket, "--sheet", "7", "--best", "A1")
    tell.refused("test", ticket, "--sheet", "3x4cm")
    tell.refused("test", ticket, "--tiles", "40")
    tell.refused("test", ticket, "--mode", "grid")
    tell.refused("test", ticket, "--slot", "5")
    tell.refused("test", ticket, "--ppi", "9")
    tell.refused("test", ticket, "-o", answer["files"][0]["path"])
    tell.refused("test", ticket, "-o", "nowhere/sheet.tif")
    assert tell.ok("show", ticket)["sheets"] == 1


def test_what_was_wished_on_the_proof_is_the_first_tile_and_never_silently_replaced(tell: Teller, ticket: str) -> None:
    tell.ok("proof", ticket, "--correct", "lightness=2.2,chroma=1.04")
    wished = {**PLAIN, "lightness": 2.2, "chroma": 1.04}
    first = sheet(tell, ticket)
    assert first["tiles"][0]["correction"] == wished
    assert PLAIN in [tile["correction"] for tile in first["tiles"]]
    middle = np.mean([tile["correction"]["lightness"] for tile in first["tiles"]])
    assert middle > 0.5, "the search lies about the wish"
    assert any("A1 is the print as it was wished on the proof: 2.2 L* lighter" in said for said in first["sentences"])
    one = tell.ok("judge", ticket, "--best", "A1", "--say", "A1 right")
    for axis, value in wished.items():
        assert one["correction"][axis] == pytest.approx(value, abs=1 if axis in ("lightness", "shadow") else 0.6)
    assert "wish_replaced" in [notice["code"] for notice in one["notices"]]


def test_a_wish_of_after_a_verdict_is_on_the_next_sheet(tell: Teller, ticket: str) -> None:
    sheet(tell, ticket)
    one = tell.ok("judge", ticket, "--best", "A1")
    assert "wish_replaced" not in [notice["code"] for notice in one["notices"]], "nothing was wished"
    tell.ok("proof", ticket, "--correct", "lightness=6")
    second = sheet(tell, ticket)
    assert second["tiles"][0]["correction"] == {**one["correction"], "lightness": 6}
    two = tell.ok("judge", ticket, "--best", "A2")
    (said,) = [notice["text"] for notice in two["notices"] if notice["code"] == "wish_replaced"]
    assert "takes the place of what was wished on the proof, 6 L* lighter" in said
    third = sheet(tell, ticket)
    assert two["correction"] not in [tile["correction"] for tile in third["tiles"][1:]]
    assert not any("wished" in said for said in third["sentences"]), "what verdicts taught is no wish"
