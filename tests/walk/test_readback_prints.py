"""Separate prints read back, in one scan or in many: all their ticks are one verdict, and a faulty print has no say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from support.commands import Teller
from support.ticked_sheets import Device, scanned, ticked
from wallworthy.demo.printer import VirtualPrinter

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]


@pytest.fixture
def sheet(tell: Teller, master: Path, profile: Path) -> Any:
    ticket = tell.ok("start", master, "--size", "20x30cm", "--profile", profile)["ticket"]
    return tell.ok("test", ticket, "--ppi", "200", "--mode", "prints", "--sheet", "9x13cm")


def codes(sheet: Any) -> list[str]:
    return [tile["code"] for tile in sheet["tiles"]]


def drawn(tell: Teller, sheet: Any, number: int, wanted: list[tuple[Any, ...]]) -> Device:
    """A print's device values with pencil strokes on it."""
    return ticked(sheet, tifffile.imread(sheet["files"][number]["path"]), tell.home, wanted, number)


def notices(answer: Any) -> set[str]:
    return {notice["code"] for notice in answer["notices"]}


def said(tell: Teller, sheet: Any) -> Any:
    return tell.ok("show", sheet["ticket"])["promise"]["said"]


def test_ticks_of_prints_scanned_one_by_one_grow_into_one_verdict(
    tell: Teller, sheet: Any, machine: VirtualPrinter, tmp_path: Path
) -> None:
    first, second, third = codes(sheet)[:3]
    scan = scanned(machine, drawn(tell, sheet, 0, [("next", first)]), tmp_path, seed=1)
    answer = tell.ok("readback", sheet["ticket"], scan)
    assert not answer["verdict_taken"]
    assert "ticks_waiting" in notices(answer)
    assert said(tell, sheet) is None

    scan = scanned(machine, drawn(tell, sheet, 1, [("best", second)]), tmp_path, seed=2)
    answer = tell.ok("readback", sheet["ticket"], scan)
    assert answer["verdict_taken"]
    assert (said(tell, sheet)["best"], said(tell, sheet)["next"]) == (second, first)

    scan = scanned(machine, drawn(tell, sheet, 2, [("word", None, "lightness", -1)]), tmp_path, seed=3)
    assert tell.ok("readback", sheet["ticket"], scan)["verdict_taken"]
    assert said(tell, sheet)["say"] == [f"{third} too dark"]
    assert not tell.ok("readback", sheet["ticket"], scan)["verdict_taken"], "nothing new was ticked"

    tell.ok("judge", sheet["ticket"], "--best", first)
    assert not tell.ok("readback", sheet["ticket"], scan)["verdict_taken"], "what a person said stays"
    assert said(tell, sheet)["best"] == first


def test_prints_in_one_scan_are_all_read(tell: Teller, sheet: Any, machine: VirtualPrinter, tmp_path: Path) -> None:
    first, second = codes(sheet)[:2]
    one = drawn(tell, sheet, 0, [("next", first)])
    other = drawn(tell, sheet, 1, [("best", second)])
    bare = np.full((one.shape[0], 60, 3), 65535, dtype=one.dtype)
    answer = tell.ok("readback", sheet["ticket"], scanned(machine, np.hstack([one, bare, other]), tmp_path))
    assert [tile["code"] for tile in answer["tiles"]] == [first, second]
    assert {(tick["kind"], tick["code"]) for tick in answer["ticked"]} == {("next", first), ("best", second)}
    assert sum(fault["probability"] for fault in answer["faults"]) == pytest.approx(1, abs=1e-6)
    assert answer["verdict_taken"]
    assert (said(tell, sheet)["best"], said(tell, sheet)["next"]) == (second, first)


def test_two_best_prints_can_not_be_meant(tell: Teller, sheet: Any, machine: VirtualPrinter, tmp_path: Path) -> None:
    first, second = codes(sheet)[:2]
    scan = scanned(machine, drawn(tell, sheet, 0, [("best", first)]), tmp_path, seed=1)
    assert tell.ok("readback", sheet["ticket"], scan)["verdict_taken"]
    scan = scanned(machine, drawn(tell, sheet, 1, [("best", second)]), tmp_path, seed=2)
    answer = tell.ok("readback", sheet["ticket"], scan)
    assert not answer["verdict_taken"]
    assert "ticks_unclear" in notices(answer)
    assert said(tell, sheet)["best"] == first


def test_a_faulty_print_has_no_say(tell: Teller, sheet: Any, machine: VirtualPrinter, tmp_path: Path) -> None:
    """Printed as if its numbers were plain RGB: its tick would mend that fault in the picture."""
    from wallworthy.icc.engine import from_lab, to_lab
    from wallworthy.icc.read import parse_profile
    from wallworthy.icc.standard import srgb_profile
    from wallworthy.journal.journal import Journal

    first = codes(sheet)[0]
    device = drawn(tell, sheet, 0, [("best", first)]).astype(np.float32) / 65535
    with Journal.open(tell.home) as journal:
        condition = journal.conditions.get(journal.tickets.get(sheet["ticket"]).condition)
    paper = parse_profile(condition.profile)
    twice = from_lab(paper, to_lab(parse_profile(srgb_profile()), device), "relative").astype(np.float32)
    answer = tell.ok("readback", sheet["ticket"], scanned(machine, np.clip(twice, 0, 1), tmp_path))
    assert max(answer["faults"], key=lambda fault: fault["probability"])["kind"] != "as_expected"
    assert [(tick["kind"], tick["code"]) for tick in answer["ticked"]] == [("best", first)]
    assert not answer["verdict_taken"]
    told = next(notice for notice in answer["notices"] if notice["code"] == "ticks_of_a_faulty_print")
    assert told["text"].startswith(f"The ticks on print {first} were not taken as a verdict")
    assert said(tell, sheet) is None

    good = scanned(machine, drawn(tell, sheet, 0, [("best", first)]), tmp_path, seed=2)
    assert tell.ok("readback", sheet["ticket"], good)["verdict_taken"], "printed again as it should be"
    assert said(tell, sheet)["best"] == first
