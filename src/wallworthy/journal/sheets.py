"""Test sheets, verdicts and readings, and the lessons of each picture for its condition, light and display."""

from __future__ import annotations

import re
import secrets
from collections.abc import Callable, Generator, Mapping
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import Any, Final

from wallworthy.base.errors import InputError
from wallworthy.base.locks import HELD, cleared, holding
from wallworthy.base.records import Pair
from wallworthy.base.ticket import LessonEntry, PartSheet, ReadingEntry, SheetEntry, Ticket, VerdictEntry, WrittenFile
from wallworthy.journal.belongings import Conditions, Displays, Lights
from wallworthy.journal.database import Database
from wallworthy.journal.encode import as_written, files_from_json, files_to_json, from_json, to_json
from wallworthy.journal.tickets import Tickets, next_no

LONGEST_DRAWN: Final = timedelta(days=1)
_TOKEN: Final = re.compile("[0-9a-f]{16}")

_SELECT: Final = """SELECT s.*, p.width_mm, p.height_mm, p.slots FROM sheets s
LEFT JOIN part_sheets p ON p.id = s.part_sheet_id"""


class Sheets:
    """Every writing method is one transaction, or part of the `Journal.write()` around it."""

    def __init__(self, database: Database, clock: Callable[[], str], tickets: Tickets, conditions: Conditions) -> None:
        self._database = database
        self._clock = clock
        self._tickets = tickets
        self._conditions = conditions
        self._held = database.path.parent / HELD

    @contextmanager
    def reserved(
        self, ticket: Ticket, slots: tuple[Pair, int] | None = None
    ) -> Generator[tuple[int, PartSheet | None]]:
        """A number, and a slot of a large sheet when asked for, while a sheet is drawn; given back when that fails.

        slots: the large sheet's size and how many slots it has. Others may write meanwhile. The sheet counts
        from `fill` on. What processes that are gone had reserved is given back first.
        """
        token = secrets.token_hex(8)
        with holding(self._held / token):
            with self._database.write():
                self.give_back()
                part = None if slots is None else self._next_slot(ticket.condition, *slots)
                number = self._tickets.number_of(ticket.id)
                no = next_no(self._database, "sheets", number)
                place = (None, None) if part is None else (part.number, part.slot)
                self._database.change(
                    "INSERT INTO sheets (ticket_id, no, at, layout, design, files, part_sheet_id, slot)"
                    " VALUES (?, ?, ?, ?, '{}', '[]', ?, ?)",
                    (number, no, self._clock(), to_json({"held": token}), *place),
                )
                if part is not None:
                    self._count_used(part.number)
            try:
                yield no, part
            except BaseException:
                with self._database.write():
                    self._give_back(number, no, None if part is None else part.number)
                raise

    def give_back(self) -> None:
        """Give back what processes that are gone, killed or with the plug pulled, had reserved for sheets."""
        with self._database.write():
            rows = self._database.rows("SELECT * FROM sheets WHERE design = '{}'")
            with as_written(self._database.path):
                gone = [row for row in rows if self._is_gone(row)]
            for row in gone:
                self._give_back(row["ticket_id"], row["no"], row["part_sheet_id"])

    def _is_gone(self, row: Any) -> bool:
        """Whether nobody draws the sheet any more. Programs of before said nobody: theirs are given a day."""
        held = from_json(row["layout"]).get("held")
        if isinstance(held, str) and _TOKEN.fullmatch(held):
            return cleared(self._held / held)
        return datetime.fromisoformat(self._clock()) - datetime.fromisoformat(row["at"]) > LONGEST_DRAWN

    def _give_back(self, ticket_number: int, no: int, part: int | None) -> None:
        """Remove a sheet that was never filled in; its slot is free again."""
        self._database.change(
            "DELETE FROM sheets WHERE ticket_id = ? AND no = ? AND design = '{}'", (ticket_number, no)
        )
        if part is not None:
            self._count_used(part)

    def _count_used(self, part: int) -> None:
        self._database.change(
            "UPDATE part_sheets SET used = (SELECT count(*) FROM sheets WHERE part_sheet_id = part_sheets.id)"
            " WHERE id = ?",
            (part,),
        )

    def _next_slot(self, condition: str, size_mm: Pair, slots: int) -> PartSheet:
        """The first free slot of a large sheet of this size: on one already begun, else on a new one."""
        number = self._conditions.number_of(condition)
        begun = self._database.rows(
            "SELECT id FROM part_sheets WHERE condition_id = ? AND slots = ?"
            " AND (SELECT count(*) FROM sheets WHERE part_sheet_id = part_sheets.id) < slots"
            " AND abs(width_mm - ?) < 0.5 AND abs(height_mm - ?) < 0.5 ORDER BY id",
            (number, slots, *size_mm),
        )
        if not begun:
            part = self._database.change(
                "INSERT INTO part_sheets (condition_id, width_mm, height_mm, slots, used) VALUES (?, ?, ?, ?, 0)",
                (number, *size_mm, slots),
            )
            return PartSheet(part, 1, slots, size_mm)
        part = int(begun[0]["id"])
        taken = {row["slot"] for row in self._database.rows("SELECT slot FROM sheets WHERE part_sheet_id = ?", (part,))}
        return PartSheet(part, next(slot for slot in range(1, slots + 1) if slot not in taken), slots, size_mm)

    def fill(
        self,
        ticket: str,
        no: int,
        layout: Mapping[str, Any],
        design: Mapping[str, Any],
        files: tuple[WrittenFile, ...],
    ) -> SheetEntry:
        """Write down the test sheet that was drawn under a reserved number; `design` is not empty."""
        with self._database.write():
            self._database.change(
                "UPDATE sheets SET at = ?, layout = ?, design = ?, files = ? WHERE ticket_id = ? AND no = ?",
                (
                    self._clock(),
                    to_json(dict(layout)),
                    to_json(dict(design)),
                    files_to_json(files),
                    self._tickets.number_of(ticket),
                    no,
                ),
            )
            return self.get(ticket, no)

    def list(self, ticket: str) -> tuple[SheetEntry, ...]:
        """A ticket's sheets, oldest first."""
        number = self._tickets.number_of(ticket)
        rows = self._database.rows(f"{_SELECT} WHERE s.ticket_id = ? AND s.design <> '{{}}' ORDER BY s.no", (number,))
        with as_written(self._database.path):
            return tuple(self._sheet(row) for row in rows)

    def get(self, ticket: str, no: int | None = None) -> SheetEntry:
        """A sheet by its number, the latest when None. InputError when there is none."""
        sheets = self.list(ticket)
        for sheet in reversed(sheets):
            if no is None or sheet.no == no:
                return sheet
        made = f"it has {len(sheets)}" if sheets else "none was made yet"
        raise InputError(
            "sheet_unknown",
            f"{ticket} has no test sheet {no or ''}".rstrip() + f"; {made}.",
            f"Make one with 'wallworthy test {ticket}', or name another with --sheet.",
            where=str(no),
        )

    def judge(self, ticket: str, sheet_no: int, said: Mapping[str, Any], result: Mapping[str, Any]) -> VerdictEntry:
        """Write down what was said of a sheet; a later verdict on the same sheet takes its place when read."""
        with self._database.write():
            number = self._tickets.number_of(ticket)
            self._database.change(
                "INSERT INTO verdicts (ticket_id, sheet_no, at, said, result) VALUES (?, ?, ?, ?, ?)",
                (number, sheet_no, self._clock(), to_json(dict(said)), to_json(dict(result))),
            )
            return next(entry for entry in reversed(self.verdicts(ticket)) if entry.sheet_no == sheet_no)

    def verdicts(self, ticket: str) -> tuple[VerdictEntry, ...]:
        """The last word on each sheet of a ticket, by sheet."""
        number = self._tickets.number_of(ticket)
        rows = self._database.rows("SELECT * FROM verdicts WHERE ticket_id = ? ORDER BY id", (number,))
        with as_written(self._database.path):
            last = {int(row["sheet_no"]): row for row in rows}
            return tuple(
                VerdictEntry(f"T{number}", no, row["at"], from_json(row["said"]), from_json(row["result"]))
                for no, row in sorted(last.items())
            )

    def read(self, ticket: str, sheet_no: int, result: Mapping[str, Any]) -> ReadingEntry:
        """Write down what a scan of a sheet gave."""
        with self._database.write():
            number = self._tickets.number_of(ticket)
            self._database.change(
                "INSERT INTO readings (ticket_id, sheet_no, at, result) VALUES (?, ?, ?, ?)",
                (number, sheet_no, self._clock(), to_json(dict(result))),
            )
            return self.readings(ticket)[-1]

    def readings(self, ticket: str) -> tuple[ReadingEntry, ...]:
        """Everything measured on a ticket's sheets, oldest first."""
        number = self._tickets.number_of(ticket)
        rows = self._database.rows("SELECT * FROM readings WHERE ticket_id = ? ORDER BY id", (number,))
        with as_written(self._database.path):
            return tuple(
                ReadingEntry(f"T{number}", int(row["sheet_no"]), row["at"], from_json(row["result"])) for row in rows
            )

    def _sheet(self, row: Any) -> SheetEntry:
        part = None
        if row["part_sheet_id"] is not None:
            part = PartSheet(row["part_sheet_id"], row["slot"], row["slots"], (row["width_mm"], row["height_mm"]))
        return SheetEntry(
            ticket=f"T{row['ticket_id']}",
            no=row["no"],
            at=row["at"],
            layout=from_json(row["layout"]),
            design=from_json(row["design"]),
            files=files_from_json(row["files"]),
            part=part,
        )


class Lessons:
    """What each picture taught, kept by condition, light and display; one lesson a ticket."""

    def __init__(
        self,
        database: Database,
        clock: Callable[[], str],
        tickets: Tickets,
        conditions: Conditions,
        lights: Lights,
        displays: Displays,
    ) -> None:
        self._database = database
        self._clock = clock
        self._tickets = tickets
        self._conditions = conditions
        self._lights = lights
        self._displays = displays

    def keep(self, ticket: Ticket, profile_sha256: str, record: Mapping[str, Any]) -> None:
        """Write down, or write anew, what a ticket's verdicts teach."""
        self._database.change(
            "INSERT INTO lessons (ticket_id, condition_id, light_id, display_id, profile_sha256, at, record)"
            " VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT (ticket_id) DO UPDATE SET"
            " profile_sha256 = excluded.profile_sha256, at = excluded.at, record = excluded.record",
            (
                self._tickets.number_of(ticket.id),
                *self._place(ticket),
                profile_sha256,
                self._clock(),
                to_json(dict(record)),
            ),
        )

    def change(self, condition: str, what: str) -> None:
        """Write down that something about a condition changed: an ink, a lot of paper."""
        self._database.change(
            "INSERT INTO changes (condition_id, at, what) VALUES (?, ?, ?)",
            (self._conditions.number_of(condition), self._clock(), what),
        )

    def changes(self, condition: str) -> tuple[tuple[str, str], ...]:
        """When and what changed about a condition, oldest first."""
        number = self._conditions.number_of(condition)
        rows = self._database.rows("SELECT at, what FROM changes WHERE condition_id = ? ORDER BY id", (number,))
        return tuple((str(row["at"]), str(row["what"])) for row in rows)

    def list(self, ticket: Ticket, *, own: bool = False) -> tuple[LessonEntry, ...]:
        """The lessons with this ticket's condition, light and display, oldest first; its own only when asked for."""
        rows = self._database.rows(
            "SELECT * FROM lessons WHERE condition_id = ? AND light_id IS ? AND display_id IS ? AND ticket_id <> ?"
            " ORDER BY at, ticket_id",
            (*self._place(ticket), 0 if own else self._tickets.number_of(ticket.id)),
        )
        with as_written(self._database.path):
            return tuple(
                LessonEntry(f"T{row['ticket_id']}", row["profile_sha256"], row["at"], from_json(row["record"]))
                for row in rows
            )

    def forget(self, condition: str) -> int:
        """Remove all lessons of a condition, whatever the light; how many there were."""
        with self._database.write():
            number = self._conditions.number_of(condition)
            rows = self._database.rows("SELECT count(*) AS many FROM lessons WHERE condition_id = ?", (number,))
            self._database.change("DELETE FROM lessons WHERE condition_id = ?", (number,))
            return int(rows[0]["many"])

    def _place(self, ticket: Ticket) -> tuple[int, int | None, int | None]:
        return (
            self._conditions.number_of(ticket.condition),
            None if ticket.light is None else self._lights.number_of(ticket.light),
            None if ticket.display is None else self._displays.number_of(ticket.display),
        )
