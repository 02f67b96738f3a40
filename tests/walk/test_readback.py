"""A sheet made by the command, printed on the virtual printer, scanned, and read back by the command."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from support.commands import Teller
from support.ticked_sheets import scanned, ticked
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.journal.journal import Journal

pytestmark = pytest.mark.practice


@pytest.fixture
def sheet(tell: Teller, master: Path, profile: Path) -> Any:
    ticket = tell.ok("start", master, "--size", "20x30cm", "--profile", profile)["ticket"]
    return tell.ok("test", ticket, "--ppi", "200")


def test_a_good_print_is_found_measured_and_as_expected(
    tell: Teller, sheet: Any, machine: VirtualPrinter, tmp_path: Path
) -> None:
    device = tifffile.imread(sheet["files"][0]["path"])
    answer = tell.ok("readback", sheet["ticket"], scanned(machine, device, tmp_path))
    assert answer["found"]
    assert not answer["absolute"]
    assert {tile["code"] for tile in answer["tiles"]} == {tile["code"] for tile in sheet["tiles"]}
    assert np.mean([tile["de00"] for tile in answer["tiles"]]) < 2.0
    assert sum(fault["probability"] for fault in answer["faults"]) == pytest.approx(1, abs=1e-6)
    likeliest = max(answer["faults"], key=lambda fault: fault["probability"])
    assert likeliest["kind"] == "as_expected"
    assert abs(answer["scale_error_pct"]) < 1
    assert not answer["verdict_taken"]
    assert tell.ok("show", sheet["ticket"])["promise"]["measured"]["likeliest"] == "as_expected"


def test_ticks_alone_are_a_verdict(tell: Teller, sheet: Any, machine: VirtualPrinter, tmp_path: Path) -> None:
    device = ticked(sheet, tifffile.imread(sheet["files"][0]["path"]), tell.home, [("best", "B2"), ("next", "A1")])
    answer = tell.ok("readback", sheet["ticket"], scanned(machine, device, tmp_path))
    assert {(tick["kind"], tick["code"]) for tick in answer["ticked"]} == {("best", "B2"), ("next", "A1")}
    assert answer["verdict_taken"]
    shown = tell.ok("show", sheet["ticket"])
    assert shown["promise"]["said"]["best"] == "B2"
    again = tell.ok("readback", sheet["ticket"], scanned(machine, device, tmp_path, seed=2))
    assert not again["verdict_taken"], "a sheet that was judged keeps its verdict"


@pytest.mark.parametrize(
    "wanted",
    [
        [("best", "B2"), ("best", "A1")],
        [("word", None, "lightness", -1)],
        [("best", "A1"), ("word", None, "lightness", -1), ("word", None, "lightness", 1)],
    ],
)
def test_ticks_that_can_not_be_meant_so_are_told_not_taken(
    tell: Teller, sheet: Any, machine: VirtualPrinter, tmp_path: Path, wanted: list[tuple[Any, ...]]
) -> None:
    """Two best tiles, words about no tile, opposites: the sheet is measured all the same."""
    device = ticked(sheet, tifffile.imread(sheet["files"][0]["path"]), tell.home, wanted)
    answer = tell.ok("readback", sheet["ticket"], scanned(machine, device, tmp_path))
    assert len(answer["ticked"]) == len(wanted)
    assert answer["tiles"]
    assert not answer["verdict_taken"]
    assert "ticks_unclear" in {notice["code"] for notice in answer["notices"]}
    assert tell.ok("show", sheet["ticket"])["promise"]["said"] is None


def test_a_profile_applied_twice_is_named(tell: Teller, sheet: Any, machine: VirtualPrinter, tmp_path: Path) -> None:
    """Printed with the profile applied twice: far from what was asked, and said so."""
    from wallworthy.icc.engine import from_lab, to_lab
    from wallworthy.icc.read import parse_profile
    from wallworthy.icc.standard import srgb_profile

    device = tifffile.imread(sheet["files"][0]["path"]).astype(np.float32) / 65535
    with Journal.open(tell.home) as journal:
        condition = journal.conditions.get(journal.tickets.get(sheet["ticket"]).condition)
    paper = parse_profile(condition.profile)
    twice = from_lab(paper, to_lab(parse_profile(srgb_profile()), device), "relative").astype(np.float32)
    answer = tell.ok("readback", sheet["ticket"], scanned(machine, np.clip(twice, 0, 1), tmp_path))
    assert answer["found"]
    likeliest = max(answer["faults"], key=lambda fault: fault["probability"])
    assert likeliest["kind"] == "profile_twice"
    assert likeliest["evidence"]
    assert likeliest["mend"]


def test_the_papers_own_profile_under_another_name_is_no_rival(
    tell: Teller, sheet: Any, machine: VirtualPrinter, profile: Path, tmp_path: Path
) -> None:
    tell.ok("condition", "add", "satin by another name", "--profile", profile)
    device = tifffile.imread(sheet["files"][0]["path"])
    answer = tell.ok("readback", sheet["ticket"], scanned(machine, device, tmp_path))
    assert not [fault for fault in answer["faults"] if "satin" in fault["evidence"]]
    assert answer["faults"][0]["kind"] == "as_expected"


def test_what_is_no_sheet_is_said(tell: Teller, sheet: Any, master: Path, tmp_path: Path) -> None:
    answer = tell.ok("readback", sheet["ticket"], master)
    assert answer["found"] is False
    assert answer["tiles"] == []
    text = tmp_path / "notes.txt"
    text.write_text("not a picture")
    tell.refused("readback", sheet["ticket"], text)
    tell.refused("readback", sheet["ticket"], master, "--sheet", "9")
    tell.refused("readback", sheet["ticket"], master, "--reference", text)
    tell.refused("readback", "T9", master)
