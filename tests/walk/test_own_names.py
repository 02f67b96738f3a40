"""Files that were given no name take the print's own, numbered; with --force they replace the newest of it."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from support.commands import Teller
from wallworthy.base.files import sha256_of
from wallworthy.journey import finishing
from wallworthy.journey.finishing import FinalWish, make_final
from wallworthy.journey.home import opened

pytestmark = pytest.mark.practice


@pytest.fixture
def ticket(tell: Teller, master: Path, profile: Path) -> str:
    return str(tell.ok("start", master, "--size", "10x15cm", "--profile", profile)["ticket"])


def names(pattern: str) -> list[str]:
    return sorted(path.name for path in Path.cwd().glob(pattern))


def test_finals_made_at_once_take_a_name_each(tell: Teller, ticket: str, monkeypatch: pytest.MonkeyPatch) -> None:
    real, others = finishing.rendered, []

    def meanwhile(*given: Any, **more: Any) -> Any:
        if not others:
            others.append(None)
            others.append(make_final(tell.home, ticket, FinalWish(ppi=60)))
        return real(*given, **more)

    monkeypatch.setattr(finishing, "rendered", meanwhile)
    first = tell.ok("final", ticket, "--ppi", "60")
    second = others[1]
    assert second is not None
    assert [Path(made).name for made in (first["files"][0]["path"], second.files[0].path)] == [
        f"slope-{ticket}-final.tif",
        f"slope-{ticket}-final-2.tif",
    ]
    assert names("*-card.*") == sorted(
        f"slope-{ticket}-final{number}.tif-card.{form}" for number in ("", "-2") for form in ("json", "txt")
    )


def test_force_without_a_name_replaces_the_newest_of_the_print_s_own(tell: Teller, ticket: str) -> None:
    assert tell.ok("proof", ticket, "--force")["files"][0]["path"].endswith(f"slope-{ticket}-proof.png")
    tell.ok("proof", ticket)
    before = sha256_of(Path(f"slope-{ticket}-proof.png"))
    os.utime(f"slope-{ticket}-proof.png", (1e9, 1e9))
    tell.ok("proof", ticket, "--force", "--correct", "lightness=3")
    assert names("*proof*") == [f"slope-{ticket}-proof-2.png", f"slope-{ticket}-proof.png"]
    assert sha256_of(Path(f"slope-{ticket}-proof.png")) == before
    assert sha256_of(Path(f"slope-{ticket}-proof-2.png")) != before
    for words in ((), ("--force",), ("--force",)):
        made = tell.ok("final", ticket, "--ppi", "60", *words)
        assert made["files"][0]["path"].endswith(f"slope-{ticket}-final.tif")
    assert len(names("*final*")) == 3
    made = tell.ok("final", ticket, "--ppi", "60", "--format", "png", "--force")
    assert made["files"][0]["path"].endswith("-final.png"), "another format is another name"


def test_a_card_left_behind_makes_its_name_taken(tell: Teller, ticket: str) -> None:
    tell.ok("final", ticket, "--ppi", "60")
    Path(f"slope-{ticket}-final.tif").unlink()
    kept = Path(f"slope-{ticket}-final.tif-card.txt").read_bytes()
    assert tell.ok("final", ticket, "--ppi", "60")["files"][0]["path"].endswith("-final-2.tif")
    assert Path(f"slope-{ticket}-final.tif-card.txt").read_bytes() == kept


def test_a_sheet_without_a_name_takes_the_next_or_with_force_the_one_there(tell: Teller, ticket: str) -> None:
    for number, words, kept in ((1, (), False), (2, ("--force",), True)):
        there = Path(f"slope-{ticket}-sheet-{number}.tif")
        there.write_bytes(b"of another day")
        made = tell.ok("test", ticket, "--ppi", "120", *words)["files"][0]["path"]
        assert Path(made).name == (f"slope-{ticket}-sheet-1-2.tif" if not kept else there.name)
        assert (there.read_bytes() == b"of another day") is not kept


def test_a_title_that_is_no_file_name_makes_one_all_the_same(tell: Teller, ticket: str) -> None:
    with opened(tell.home) as journal, journal.write():
        journal.tickets.update(replace(journal.tickets.get(ticket), title="../dusk/by the bay: 2."))
    assert Path(tell.ok("proof", ticket)["files"][0]["path"]).name == f"dusk-by the bay- 2-{ticket}-proof.png"
    assert Path(tell.ok("final", ticket, "--ppi", "60")["files"][0]["path"]).parent == Path.cwd()
