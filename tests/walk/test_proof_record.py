"""What is remembered of a proof that fails, and of one whose ticket is changed while it is made."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from support.commands import Teller
from wallworthy.base.errors import InputError
from wallworthy.journey import drawn
from wallworthy.journey.changing import ChangeAsked, change_ticket
from wallworthy.journey.live import Sessions

pytestmark = pytest.mark.practice


@pytest.fixture
def ticket(tell: Teller, master: Path, profile: Path) -> str:
    return str(tell.ok("start", master, "--size", "20x30cm", "--profile", profile)["ticket"])


def test_a_proof_that_fails_while_it_is_written_leaves_nothing_behind(
    tell: Teller, ticket: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise InputError("unmeasured", "It can't be measured.", "Try again.")

    monkeypatch.setattr(drawn, "seen_figures", refuse)
    assert tell.refused("proof", ticket, "-o", tmp_path / "proof.png")["code"] == "unmeasured"
    assert list(tmp_path.glob("*proof*")) == []
    earlier = tmp_path / "earlier.png"
    earlier.write_bytes(b"a proof of before")
    tell.refused("proof", ticket, "-o", earlier, "--force")
    assert earlier.read_bytes() == b"a proof of before"
    assert tell.ok("show", ticket)["stage"] == "started"


@pytest.mark.parametrize("change", [{"size": "30x45cm"}, {"crop": (0, 0, 120, 180)}], ids=str)
def test_a_ticket_changed_while_it_is_proofed_still_wants_a_proof(
    tell: Teller, ticket: str, monkeypatch: pytest.MonkeyPatch, change: dict[str, Any]
) -> None:
    real = drawn.seen_figures

    def meanwhile(*given: Any) -> Any:
        change_ticket(tell.home, ticket, ChangeAsked(**change))
        return real(*given)

    with monkeypatch.context() as patch:
        patch.setattr(drawn, "seen_figures", meanwhile)
        tell.ok("proof", ticket, "--correct", "lightness=2")
    shown = tell.ok("show", ticket)
    assert shown["stage"] == "started"
    assert shown["correction"]["lightness"] == 2
    tell.ok("proof", ticket)
    assert tell.ok("show", ticket)["stage"] == "proofed"


def test_the_page_writes_down_no_proof_of_a_ticket_changed_meanwhile(
    tell: Teller, master: Path, profile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ("start", master, "--size", "20x30cm", "--profile", profile, "--way", "whole")
    ticket = tell.ok(*words)["ticket"]
    real = Sessions._reported

    def meanwhile(self: Sessions, *given: Any) -> Any:
        change_ticket(tell.home, ticket, ChangeAsked(must_not_suffer=["shadows"]))
        return real(self, *given)

    with monkeypatch.context() as patch:
        patch.setattr(Sessions, "_reported", meanwhile)
        Sessions(tell.home).write_down(ticket)
    assert tell.ok("show", ticket)["stage"] == "started"
    Sessions(tell.home).write_down(ticket)
    assert tell.ok("show", ticket)["stage"] == "proofed"


def test_a_verdict_makes_the_last_proof_yesterdays_and_it_is_said(tell: Teller, ticket: str) -> None:
    unseen = tell.ok("final", ticket, "--ppi", "60")["notices"]
    assert "not_proofed" in {notice["code"] for notice in unseen}
    tell.ok("proof", ticket)
    sheet = tell.ok("test", ticket, "--ppi", "120")
    lightest = max(sheet["tiles"], key=lambda tile: tile["correction"]["lightness"])["code"]
    assert not tell.ok("show", ticket)["proof_stale"]
    tell.ok("judge", ticket, "--best", lightest)
    shown = tell.ok("show", ticket)
    assert shown["proof_stale"]
    assert f"wallworthy proof {ticket}" in shown["next"]
    assert "Happy" not in shown["next"]
    notices = {notice["code"]: notice["text"] for notice in shown["notices"]}
    assert "The correction has changed since the last proof" in notices["proof_stale"]
    made = tell.ok("final", ticket, "--ppi", "60")["notices"]
    assert notices["proof_stale"] in [notice["text"] for notice in made]
    again = tell.ok("final", ticket, "--again")["notices"]
    assert "proof_stale" not in {notice["code"] for notice in again}
    tell.ok("proof", ticket)
    assert not tell.ok("show", ticket)["proof_stale"]
    codes = {notice["code"] for notice in tell.ok("final", ticket, "--ppi", "60")["notices"]}
    assert not codes & {"proof_stale", "not_proofed"}


def test_any_other_change_of_the_print_makes_its_proof_stale_too(tell: Teller, ticket: str) -> None:
    tell.ok("proof", ticket)
    change_ticket(tell.home, ticket, ChangeAsked(size="30x45cm"))
    assert tell.ok("show", ticket)["proof_stale"]
    made = {notice["code"]: notice["text"] for notice in tell.ok("final", ticket, "--ppi", "60")["notices"]}
    assert made["proof_stale"].startswith("What prints has changed since the last proof")


def test_what_is_suggested_goes_on_from_the_correction_there_is(tell: Teller, ticket: str) -> None:
    assert "lightness=2'" in tell.ok("proof", ticket)["next"]
    assert "lightness=5'" in tell.ok("proof", ticket, "--correct", "lightness=3")["next"]
    room = tell.ok("proof", ticket, "--correct", "none", "--light", "evening room")
    offered = room["offered_correction"]["lightness"]
    assert offered != 2
    assert f"--correct lightness={offered:g}'" in room["next"]
