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
