"""Test sheets, verdicts, readings and lessons come back as they were written; slots are given once."""

from __future__ import annotations

import contextlib
import dataclasses
import itertools
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from support.stream import a_condition, a_draft, a_master
from wallworthy.base.errors import InputError
from wallworthy.base.locks import HELD
from wallworthy.base.records import Light
from wallworthy.base.ticket import PartSheet, SheetEntry, Ticket, WrittenFile
from wallworthy.journal.journal import FILE_NAME, Journal

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


LEFT = """
import os, signal, sys
from pathlib import Path
from wallworthy.journal.journal import FILE_NAME, Journal
with Journal.open(Path(sys.argv[1])) as journal:
    with journal.sheets.reserved(journal.tickets.get("T1"), ((210.0, 297.0), 4)) as (no, part):
        print(no, part.slot, flush=True)
        os.kill(os.getpid(), signal.SIGKILL)
"""


def left_behind(journal: Journal) -> str:
    """What a process reserved that was killed while it drew: number and slot."""
    ended = subprocess.run([sys.executable, "-c", LEFT, journal.home], capture_output=True, text=True, check=False)
    assert ended.returncode == -signal.SIGKILL, ended.stderr
    return ended.stdout.strip()


def test_what_killed_processes_reserved_is_given_back(journal: Journal) -> None:
    ticket = journal.tickets.open(a_draft())
    assert [left_behind(journal) for _ in range(2)] == ["1 1", "1 1"]
    assert slot(journal, ticket).slot == 1
    assert journal.sheets.get(ticket.id).no == 1
    left_behind(journal)
    journal.sheets.give_back()
    with sqlite3.connect(journal.home / FILE_NAME) as connection:
        assert connection.execute("SELECT count(*) FROM sheets").fetchall() == [(1,)]
        assert connection.execute("SELECT used FROM part_sheets").fetchall() == [(1,)]
    connection.close()
    assert list((journal.home / HELD).iterdir()) == []


def test_what_is_being_drawn_is_not_given_back_and_a_free_slot_is_used_first(journal: Journal) -> None:
    ticket = journal.tickets.open(a_draft())
    with Journal.open(journal.home) as other, contextlib.ExitStack() as drawn:
        _, first = drawn.enter_context(other.sheets.reserved(ticket, ((210.0, 297.0), 4)))
        assert first is not None
        assert first.slot == 1
        second = slot(journal, ticket)
        journal.sheets.give_back()
        assert slot(journal, ticket).slot == 3
        with pytest.raises(RuntimeError), drawn:
            raise RuntimeError
        assert second.slot == 2
    assert [slot(journal, ticket).slot for _ in range(2)] == [1, 4]
    assert [entry.no for entry in journal.sheets.list(ticket.id)] == [2, 3, 4, 5]


def test_what_a_program_of_before_reserved_is_given_a_day(tmp_path: Path) -> None:
    now = "2031-01-01T00:00:00.000Z"
    with Journal.open(tmp_path, clock=lambda: now) as journal:
        journal.conditions.add(a_condition())
        journal.masters.add(a_master())
        ticket = journal.tickets.open(a_draft())
        with sqlite3.connect(tmp_path / FILE_NAME) as connection:
            row = "INSERT INTO sheets (ticket_id, no, at, layout, design, files) VALUES (1, 1, ?, '{}', '{}', '[]')"
            connection.execute(row, (now,))
        connection.close()
        assert made(journal, ticket).no == 2
        now = "2031-01-03T00:00:00.000Z"
        assert made(journal, ticket).no == 3
        assert [entry.no for entry in journal.sheets.list(ticket.id)] == [2, 3]


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
