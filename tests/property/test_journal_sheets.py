"""Test sheets, verdicts, readings and lessons come back as they were written; slots are given once."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator
from pathlib import Path

import pytest

from support.stream import a_condition, a_draft, a_master
from wallworthy.base.errors import InputError
from wallworthy.base.records import Light
from wallworthy.base.ticket import WrittenFile
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


def test_sheets_are_numbered_and_come_back(journal: Journal) -> None:
    ticket = journal.tickets.open(a_draft())
    files = (WrittenFile("sheet", "a.tif", "0" * 64),)
    first = journal.sheets.add(ticket.id, {"tiles": [1, 2.5]}, {"seed": 3}, files)
    second = journal.sheets.add(ticket.id, {}, {}, ())
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
        journal.sheets.add(ticket.id, {}, {}, ())
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
    condition = a_condition().name
    taken = [journal.sheets.next_slot(condition, (210.0, 297.0), 4) for _ in range(6)]
    assert [part.slot for part in taken] == [1, 2, 3, 4, 1, 2]
    assert len({(part.number, part.slot) for part in taken}) == 6
    other_size = journal.sheets.next_slot(condition, (297.0, 420.0), 4)
    assert other_size.slot == 1
    assert other_size.number not in {part.number for part in taken}


def test_a_slot_asked_for_in_a_block_that_fails_stays_free(journal: Journal) -> None:
    condition = a_condition().name

    def half_done() -> None:
        with journal.write():
            journal.sheets.next_slot(condition, (210.0, 297.0), 4)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        half_done()
    assert journal.sheets.next_slot(condition, (210.0, 297.0), 4).slot == 1


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
