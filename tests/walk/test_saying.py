"""The same commands whatever is said and how: tiles, words or ticks on scans; the stop a person may set."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from support.commands import Teller
from support.ticked_sheets import scanned, ticked
from wallworthy.demo.printer import VirtualPrinter

pytestmark = pytest.mark.practice

PLAIN = {"lightness": 0, "contrast": 1, "shadow": 0, "green_red": 0, "blue_yellow": 0, "chroma": 1}


@pytest.fixture
def ticket(tell: Teller, master: Path, profile: Path) -> str:
    return str(tell.ok("start", master, "--size", "20x30cm", "--profile", profile)["ticket"])


def sheet(tell: Teller, ticket: str, *more: str) -> Any:
    return tell.ok("test", ticket, "--ppi", "120", *more)


def by_lightness(answer: Any) -> list[str]:
    return [tile["code"] for tile in sorted(answer["tiles"], key=lambda tile: tile["correction"]["lightness"])]


def finished(tell: Teller, ticket: str, heard: Any) -> None:
    """The final takes over what the verdicts left, and the ticket tells of them."""
    assert heard["correction"]["lightness"] > PLAIN["lightness"]
    final = tell.ok("final", ticket, "--ppi", "72")
    assert final["correction"] == pytest.approx(heard["correction"])
    kinds = [event["kind"] for event in tell.ok("show", ticket)["events"]]
    assert kinds.count("judged") == 2


def test_tiles_only(tell: Teller, ticket: str) -> None:
    heard: Any = None
    for _ in range(2):
        *_, second, first = by_lightness(sheet(tell, ticket))
        heard = tell.ok("judge", ticket, "--best", first, "--next", second)
        assert heard["said"] == []
    finished(tell, ticket, heard)


def test_words_only(tell: Teller, ticket: str) -> None:
    sheet(tell, ticket, "--mode", "whole")
    one = tell.ok("judge", ticket, "--say", "clearly too dark")
    sheet(tell, ticket, "--mode", "whole")
    heard = tell.ok("judge", ticket, "--say", "a touch too dark")
    assert [(said["grade"], said["direction"]) for said in heard["said"]] == [("a touch", "too dark")]
    assert heard["correction"]["lightness"] > one["correction"]["lightness"]
    finished(tell, ticket, heard)


def test_scans_only(tell: Teller, ticket: str, machine: VirtualPrinter, tmp_path: Path) -> None:
    for number in (1, 2):
        made = tell.ok("test", ticket, "--ppi", "200")
        *_, second, first = by_lightness(made)
        device = tifffile.imread(made["files"][0]["path"])
        ticks = [("best", first), ("next", second), ("word", None, "lightness", -1)]
        scan = scanned(machine, ticked(made, device, tell.home, ticks), tmp_path, seed=number)
        read = tell.ok("readback", ticket, scan)
        assert (read["sheet_no"], read["verdict_taken"]) == (number, True)
        assert {tick["direction"] for tick in read["ticked"]} == {None, "too dark"}
    finished(tell, ticket, tell.ok("show", ticket))


def test_between_lies_between(tell: Teller, ticket: str) -> None:
    """Between the lightest and the darkest: near the middle of the two, and surer of it than before."""
    made = sheet(tell, ticket)
    order = by_lightness(made)
    heard = tell.ok("judge", ticket, "--say", f"between {order[0]} and {order[-1]}")
    assert [said["direction"] for said in heard["said"]] == [f"between {order[0]} and {order[-1]}"]
    ends = [tile["correction"]["lightness"] for tile in made["tiles"] if tile["code"] in (order[0], order[-1])]
    assert min(ends) < heard["correction"]["lightness"] < max(ends)
    assert abs(heard["correction"]["lightness"] - np.mean(ends)) < 0.35 * abs(ends[0] - ends[1])
    assert heard["expected_de00"] < made["expected_de00"]


def test_none_is_right_and_can_not_tell(tell: Teller, ticket: str, master: Path, profile: Path) -> None:
    """'None' leaves more to be found than the best tile's 'right'; 'can't tell' is taken, and moves little."""
    best = by_lightness(sheet(tell, ticket))[-1]
    none = tell.ok("judge", ticket, "--best", best, "--none-right")
    in_words = tell.ok("judge", ticket, "--best", best, "--say", "none is right")
    assert in_words["correction"] == pytest.approx(none["correction"])
    right = tell.ok("judge", ticket, "--best", best, "--say", f"{best} right")
    assert right["expected_de00"] < none["expected_de00"]
    assert in_words["said"][0]["direction"] == "none is right"
    unsure = tell.ok("judge", ticket, "--say", "can't tell")
    assert unsure["advice"] in ("print", "test")
    assert abs(unsure["correction"]["lightness"]) < abs(right["correction"]["lightness"])


def test_the_stop_is_the_persons_own_and_stays_with_the_ticket(tell: Teller, ticket: str) -> None:
    best = by_lightness(sheet(tell, ticket))[2]
    usual = tell.ok("judge", ticket, "--best", best, "--say", f"{best} right")
    assert usual["stop_at_de00"] == 2.0
    easy = tell.ok("judge", ticket, "--stop-at", "9")
    assert (easy["stop_at_de00"], easy["advice"]) == (9.0, "print")
    assert easy["expected_de00"] == pytest.approx(usual["expected_de00"]), "the verdict itself stays"
    assert any("9 dE00" in sentence for sentence in easy["sentences"])
    strict = tell.ok("judge", ticket, "--stop-at", "0.9")
    assert strict["advice"] == "test"
    again = by_lightness(sheet(tell, ticket))[2]
    assert tell.ok("judge", ticket, "--best", again)["stop_at_de00"] == 0.9, "it holds for later sheets"
    for absurd in ("0", "-1", "nan", "200"):
        assert tell.refused("judge", ticket, "--best", again, "--stop-at", absurd)["code"] == "stop_absurd"


def test_a_stop_alone_is_no_verdict(tell: Teller, ticket: str) -> None:
    sheet(tell, ticket)
    assert tell.refused("judge", ticket, "--stop-at", "1.6")["code"] == "nothing_said"


def test_the_library_takes_the_same_verdicts(tell: Teller, ticket: str, tmp_path: Path) -> None:
    import wallworthy as ww

    made = ww.make_sheet(ticket, ppi=120, out=tmp_path / "sheet.tif", home=tell.home)
    heard = ww.judge(ticket, best=made.tiles[-1].code, say="none is right", stop_at_de00=1.6, home=tell.home)
    assert heard.stop_at_de00 == 1.6
    assert tell.ok("judge", ticket, "--best", made.tiles[-1].code, "--none-right")["correction"] == pytest.approx(
        dict(heard.correction)
    )
    assert ww.readback(ticket, tmp_path / "sheet.tif", sheet_no=1, home=tell.home).tiles
