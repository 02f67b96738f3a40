"""Test sheets, verdicts, readings and lessons come back as they were written; slots are given once."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from support.stream import a_condition, a_draft, a_master
from wallworthy.base.errors import InputError
from wallworthy.base.records import Light
from wallworthy.base.ticket import PartSheet, SheetEntry, Ticket, WrittenFile
from wallworthy.journal.journal import Journal

pytestmark = pytest.mark.practice

LIGHT = Light("hall", 80.0, (40.0, 160.0), 2700.0, 0.06, "dim", 22.0)


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    ticks = itertools.count()
    with Journal.open(tmp_path / "home", clock=lambda: f"2031-01-01T00:00:{next(ticks):02d}.000Z") as opened:
        opened.conditions.add(a_condition())
        opened.lights.add(LIGHT)
        opened.masters.add(a_master())
        yield opened


def made(
    journal: Journal, ticket: Ticket, layout: dict[str, Any] | None = None, files: tuple[WrittenFile, ...] = ()
) -> SheetEntry:
    with journal.sheets.reserved(ticket) as (no, _):
        return journal.sheets.fill(ticket.id, no, layout or {}, {"seed": 3}, files)


def slot(journal: Journal, ticket: Ticket, size_mm: tuple[float, float] = (210.0, 297.0)) -> PartSheet:
    with journal.sheets.reserved(ticket, (size_mm, 4)) as (no, part):
        journal.sheets.fill(ticket.id, no, {}, {"seed": 3}, ())
    assert part is not None
    return part


def test_sheets_are_numbered_and_come_back(journal: Journal) -> None:
    ticket = journal.tickets.open(a_draft())
    files = (WrittenFile("sheet", "a.tif", "0" * 64),)
    first = made(journal, ticket, {"tiles": [1, 2.5]}, files)
    second = made(journal, ticket)
    assert (first.no, second.no) == (1, 2)
    assert journal.sheets.get(ticket.id, 1) == first
    assert journal.sheets.get(ticket.id) == second
    assert first.layout == {"tiles": [1, 2.5]}
    assert first.files == files
    with pytest.raises(InputError, match="no test sheet 3"):
        journal.sheets.get(ticket.id, 3)


def test_the_last_word_on_a_sheet_counts(journal: Journal) -> None:
    ticket = journal.tickets.open(a_draft())
    for _ in range(2):
        made(journal, ticket)
    journal.sheets.judge(ticket.id, 1, {"best": "A1"}, {"d": 1})
    journal.sheets.judge(ticket.id, 2, {"best": "B1"}, {"d": 2})
    journal.sheets.judge(ticket.id, 1, {"best": "A2"}, {"d": 3})
    assert [(entry.sheet_no, entry.said["best"]) for entry in journal.sheets.verdicts(ticket.id)] == [
        (1, "A2"),
        (2, "B1"),
    ]
    journal.sheets.read(ticket.id, 2, {"found": True})
    assert journal.sheets.readings(ticket.id)[0].result == {"found": True}


def test_every_slot_is_given_once(journal: Journal) -> None:
    ticket = journal.tickets.open(a_draft())
    taken = [slot(journal, ticket) for _ in range(6)]
    assert [part.slot for part in taken] == [1, 2, 3, 4, 1, 2]
    assert len({(part.number, part.slot) for part in taken}) == 6
    other_size = slot(journal, ticket, (297.0, 420.0))
    assert other_size.slot == 1
    assert other_size.number not in {part.number for part in taken}


def test_number_and_slot_are_given_back_when_drawing_fails(journal: Journal) -> None:
    ticket = journal.tickets.open(a_draft())

    def half_done() -> None:
        with journal.sheets.reserved(ticket, ((210.0, 297.0), 4)):
            raise RuntimeError

    with pytest.raises(RuntimeError):
        half_done()
    assert journal.sheets.list(ticket.id) == ()
    assert slot(journal, ticket).slot == 1
    assert journal.sheets.get(ticket.id).no == 1


def test_lessons_belong_to_condition_light_and_display(journal: Journal) -> None:
    one = journal.tickets.open(a_draft())
    two = journal.tickets.open(a_draft())
    hall = journal.tickets.open(dataclasses.replace(a_draft(), light="hall"))
    journal.lessons.keep(one, "a" * 64, {"x": 1.0})
    journal.lessons.keep(one, "a" * 64, {"x": 2.0})
    journal.lessons.keep(hall, "a" * 64, {"x": 9.0})
    assert [entry.record for entry in journal.lessons.list(two)] == [{"x": 2.0}]
    assert journal.lessons.list(one) == ()
    assert journal.lessons.forget(a_condition().name) == 2
    assert journal.lessons.list(two) == ()
