"""Two commands at once on a fresh home, both of which need a paper that nobody has yet."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from support.commands import Teller
from wallworthy.journey import conditions
from wallworthy.journey.tickets import Wish, start_ticket


@pytest.mark.practice
@pytest.mark.parametrize("by_profile", [False, True], ids=["paper", "profile"])
def test_a_paper_that_another_start_took_in_meanwhile_is_used(
    tell: Teller, master: Path, profile: Path, monkeypatch: pytest.MonkeyPatch, by_profile: bool
) -> None:
    real = conditions.measured
    wish = Wish(master, "20x30cm", profile=profile) if by_profile else Wish(master, "20x30cm", paper="gloss")
    others: list[str] = []

    def meanwhile(*given: Any, **more: Any) -> Any:
        found = real(*given, **more)
        if not others:
            others.append("under way")
            others.append(start_ticket(tell.home, wish).condition)
        return found

    monkeypatch.setattr(conditions, "measured", meanwhile)
    words = ("--profile", profile) if by_profile else ("--paper", "gloss")
    mine = tell.ok("start", master, "--size", "20x30cm", *words)["condition"]
    assert others[1:] == [mine]
    assert [one["name"] for one in tell.ok("condition", "list")["conditions"]] == [mine]
    assert len(tell.ok("paper", "list")["papers"]) == 1
