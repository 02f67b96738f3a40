"""A final made again is the last one, whatever has been changed since."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from support.commands import Teller
from wallworthy.journey.changing import ChangeAsked, change_ticket
from wallworthy.journey.tending import remove

pytestmark = pytest.mark.practice


@pytest.fixture
def ticket(tell: Teller, master: Path, cmyk: Path) -> str:
    tell.ok("condition", "add", "press", "--profile", cmyk)
    words = ("start", master, "--size", "10x15cm", "--on", "press", "--border", "5,10,20,12.5")
    return str(tell.ok(*words)["ticket"])


@pytest.mark.parametrize(
    "change",
    [
        {"border_mm": 30},
        {"size": "8x12cm"},
        {"crop": (0, 0, 120, 180)},
        {"on": "glossy"},
        {"black_and_white": "neutral"},
        {"way": "perceptual"},
    ],
    ids=str,
)
def test_what_was_changed_since_does_not_count(
    tell: Teller, ticket: str, profile: Path, tmp_path: Path, change: dict[str, Any]
) -> None:
    tell.ok("condition", "add", "glossy", "--profile", profile)
    first = tell.ok("final", ticket, "-o", tmp_path / "one.tif", "--ppi", "60")
    change_ticket(tell.home, ticket, ChangeAsked(**change))
    again = tell.ok("final", ticket, "-o", tmp_path / "two.tif", "--again")
    assert again["pixels_sha256"] == first["pixels_sha256"]
    assert "same_pixels" in {notice["code"] for notice in again["notices"]}
    assert again["margins_mm"] == first["margins_mm"]
    assert tell.ok("show", ticket)["stage"] != "final", "the ticket as it stands has no final yet"
    other = tell.ok("final", ticket, "-o", tmp_path / "three.tif", "--ppi", "60")
    assert other["pixels_sha256"] != first["pixels_sha256"], "the change itself is still there"
    assert tell.ok("show", ticket)["stage"] == "final"


def test_the_paper_is_found_by_its_profile_and_missed_in_words(
    tell: Teller, ticket: str, cmyk: Path, profile: Path, tmp_path: Path
) -> None:
    first = tell.ok("final", ticket, "-o", tmp_path / "one.tif", "--ppi", "60")
    tell.ok("condition", "add", "glossy", "--profile", profile)
    tell.ok("condition", "add", "the same press", "--profile", cmyk)
    change_ticket(tell.home, ticket, ChangeAsked(on="glossy"))
    remove(tell.home, "condition", "press")
    again = tell.ok("final", ticket, "-o", tmp_path / "two.tif", "--again")
    assert again["pixels_sha256"] == first["pixels_sha256"]
    remove(tell.home, "condition", "the same press")
    assert tell.refused("final", ticket, "--again")["code"] == "final_condition_gone"


@pytest.mark.parametrize(("way", "stage"), [("relative-bpc", "final"), ("whole", "started")])
def test_another_distance_counts_where_the_way_is_chosen_for_it(
    tell: Teller, master: Path, profile: Path, tmp_path: Path, way: str, stage: str
) -> None:
    words = ("start", master, "--size", "10x15cm", "--profile", profile, "--way", way)
    ticket = tell.ok(*words)["ticket"]
    first = tell.ok("final", ticket, "-o", tmp_path / "one.tif", "--ppi", "60")
    change_ticket(tell.home, ticket, ChangeAsked(distance="5m"))
    assert tell.ok("show", ticket)["stage"] == stage
    other = tell.ok("final", ticket, "-o", tmp_path / "two.tif", "--ppi", "60")
    assert (other["pixels_sha256"] == first["pixels_sha256"]) == (stage == "final")
