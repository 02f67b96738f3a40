"""Another part of the picture is placed in the size that was asked for, however often that changes."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from support.commands import Teller
from wallworthy.base.errors import InputError
from wallworthy.base.ticket import Ticket
from wallworthy.journey.changing import ChangeAsked, change_ticket
from wallworthy.journey.home import opened

pytestmark = pytest.mark.practice

SQUARE, WIDE = (0, 60, 240, 240), (0, 0, 240, 360)


@pytest.fixture
def ticket(tell: Teller, master: Path) -> str:
    return str(tell.ok("start", master, "--size", "40x40cm", "--paper", "matt")["ticket"])


def changed(tell: Teller, ticket: str, **asked: Any) -> Ticket:
    return change_ticket(tell.home, ticket, ChangeAsked(**asked))


def of_before(tell: Teller, ticket: str) -> None:
    """As if the ticket had been opened before the size asked for was kept."""
    with opened(tell.home) as journal:
        journal.tickets.update(replace(journal.tickets.get(ticket), size_asked=None))


@pytest.mark.parametrize("old", [False, True])
def test_another_crop_does_not_shrink_the_print(tell: Teller, ticket: str, old: bool) -> None:
    if old:
        of_before(tell, ticket)
    for _ in range(2):
        square = changed(tell, ticket, crop=SQUARE)
        assert square.size_mm == (400.0, 400.0)
        assert square.distance_mm == pytest.approx(math.hypot(400, 400), abs=0.1)
        assert changed(tell, ticket, crop=WIDE).size_mm == (400.0, 266.67)


def test_filling_cuts_to_the_size_asked_for_and_back(tell: Teller, ticket: str) -> None:
    filled = changed(tell, ticket, fill=True)
    assert (filled.crop_px, filled.size_mm) == (SQUARE, (400.0, 400.0))
    assert filled.distance_mm == pytest.approx(math.hypot(400, 400), abs=0.1)
    whole = changed(tell, ticket, fill=False)
    assert (whole.crop_px, whole.size_mm) == (None, (400.0, 266.67))


def test_a_distance_that_was_said_stays(tell: Teller, ticket: str) -> None:
    changed(tell, ticket, distance="1.2m")
    assert changed(tell, ticket, fill=True).distance_mm == 1200


def test_an_old_ticket_is_asked_for_the_size_it_is_to_fill(tell: Teller, ticket: str) -> None:
    of_before(tell, ticket)
    with pytest.raises(InputError) as refusal:
        changed(tell, ticket, fill=True)
    assert refusal.value.code == "size_to_fill"
    changed(tell, ticket, size="30x40cm")
    filled = changed(tell, ticket, fill=True)
    assert filled.size_mm == (300.0, 400.0)
    of_before(tell, ticket)
    assert changed(tell, ticket, fill=False).size_mm == (300.0, 200.0)


def test_a_size_that_comes_to_the_same_print_is_no_change_to_tell_of(tell: Teller, ticket: str) -> None:
    before = tell.ok("show", ticket)
    changed(tell, ticket, size="40x50cm")
    after = tell.ok("show", ticket)
    assert (after["size_mm"], after["events"]) == (before["size_mm"], before["events"])
    assert changed(tell, ticket, fill=True).size_mm == (400.0, 500.0)
