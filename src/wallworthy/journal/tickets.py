"""Job tickets and the record of what happened to them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import astuple
from typing import Any, Final, Literal

from wallworthy.base.errors import InputError
from wallworthy.base.records import Correction, Way
from wallworthy.base.ticket import (
    Event,
    FinalEntry,
    ProofEntry,
    Stage,
    Ticket,
    TicketDraft,
    WrittenFile,
    set_from_facts,
    set_to_facts,
)
from wallworthy.base.units import Size
from wallworthy.journal.belongings import Conditions, Displays, Lights
from wallworthy.journal.database import Database
from wallworthy.journal.encode import as_written, files_from_json, files_to_json, from_json, to_json

Clock = Callable[[], str]

_SELECT: Final = """SELECT t.*, c.name AS condition, l.name AS light, d.name AS display
FROM tickets t JOIN conditions c ON c.id = t.condition_id
LEFT JOIN lights l ON l.id = t.light_id LEFT JOIN displays d ON d.id = t.display_id"""


class Tickets:
    """Every writing method is one transaction, or part of the `Journal.write()` around it."""

    def __init__(
        self, database: Database, clock: Clock, conditions: Conditions, lights: Lights, displays: Displays
    ) -> None:
        self._database = database
        self._clock = clock
        self._conditions = conditions
        self._lights = lights
        self._displays = displays

    def open(self, draft: TicketDraft) -> Ticket:
        """Open a ticket under the next number. Its master, condition, light and display must be known."""
        now = self._clock()
        with self._database.write():
            columns = {**self._columns(draft), "stage": str(Stage.STARTED), "created": now, "updated": now}
            places = ", ".join("?" * len(columns))
            number = self._database.change(
                f"INSERT INTO tickets ({', '.join(columns)}) VALUES ({places})", tuple(columns.values())
            )
            return self.get(f"T{number}")

    def update(self, ticket: Ticket) -> Ticket:
        """Keep a changed ticket (`dataclasses.replace(ticket, ...)`); it comes back with its new `updated` time.

        Only `id` and `created` can't change. Read the ticket inside the same `Journal.write()` when
        another process may be changing it too.
        """
        with self._database.write():
            number = self.number_of(ticket.id)
            columns = {**self._columns(ticket), "stage": str(ticket.stage), "updated": self._clock()}
            settings = ", ".join(f"{column} = ?" for column in columns)
            self._database.change(f"UPDATE tickets SET {settings} WHERE id = ?", (*columns.values(), number))
            return self.get(ticket.id)

    def get(self, ticket: str) -> Ticket:
        """The ticket 'T3' ('t3' and '3' will do). InputError when there is none."""
        return self._record(self._row(ticket))

    def list(self) -> tuple[Ticket, ...]:
        """All of them, oldest first."""
        return tuple(self._record(row) for row in self._database.rows(f"{_SELECT} ORDER BY t.id"))

    def note(self, ticket: str, kind: str, detail: Mapping[str, Any] | None = None) -> Event:
        """Write down that something happened; it stays as it is for good."""
        with self._database.write():
            number = self.number_of(ticket)
            event = Event(f"T{number}", self._clock(), kind, dict(detail or {}))
            self._database.change(
                "INSERT INTO events (ticket_id, at, kind, detail) VALUES (?, ?, ?, ?)",
                (number, event.at, kind, to_json(event.detail)),
            )
            return self.events(ticket)[-1]

    def events(self, ticket: str) -> tuple[Event, ...]:
        """What happened to a ticket, in order."""
        number = self.number_of(ticket)
        rows = self._database.rows("SELECT * FROM events WHERE ticket_id = ? ORDER BY id", (number,))
        with as_written(self._database.path):
            return tuple(Event(f"T{number}", row["at"], row["kind"], from_json(row["detail"])) for row in rows)

    def number_of(self, ticket: str) -> int:
        return int(self._row(ticket)["id"])

    def _row(self, ticket: str) -> Any:
        match = re.fullmatch(r"[Tt]?([0-9]{1,15})", ticket.strip())
        rows = self._database.rows(f"{_SELECT} WHERE t.id = ?", (int(match.group(1)),)) if match else []
        if not rows:
            last = self._database.rows("SELECT id, title FROM tickets ORDER BY id DESC LIMIT 5")
            known = ", ".join(f"T{row['id']} ({row['title']})" for row in last)
            raise InputError(
                "ticket_unknown",
                f"There is no ticket '{ticket}'.",
                f"The latest are {known}." if known else "Open one with 'wallworthy start'.",
                where=ticket,
            )
        return rows[0]

    def _columns(self, draft: TicketDraft) -> dict[str, Any]:
        if not self._database.rows("SELECT 1 FROM masters WHERE sha256 = ?", (draft.master_sha256,)):
            raise InputError(
                "master_unknown",
                f"No master with the SHA-256 {draft.master_sha256[:12]} is in the journal.",
                "Write the master down first.",
                where=draft.master_path,
            )
        return {
            "master_sha256": draft.master_sha256,
            "master_path": draft.master_path,
            "title": draft.title,
            "width_mm": draft.size_mm[0],
            "height_mm": draft.size_mm[1],
            "size_asked": None if draft.size_asked is None else to_json(list(astuple(draft.size_asked))),
            "crop_px": None if draft.crop_px is None else to_json(draft.crop_px),
            "fill": int(draft.fill),
            "distance_mm": draft.distance_mm,
            "condition_id": self._conditions.number_of(draft.condition),
            "light_id": None if draft.light is None else self._lights.number_of(draft.light),
            "display_id": None if draft.display is None else self._displays.number_of(draft.display),
            "way": str(draft.way),
            "correction": to_json(draft.correction.as_dict()),
            "correction_origin": draft.correction_origin,
            "margin_top_mm": draft.margins_mm[0],
            "margin_right_mm": draft.margins_mm[1],
            "margin_bottom_mm": draft.margins_mm[2],
            "margin_left_mm": draft.margins_mm[3],
            "assumed_profile_sha256": draft.assumed_profile_sha256,
            "black_and_white": draft.black_and_white,
            "must_not_suffer": to_json(list(draft.must_not_suffer)),
            "hangs_with": None if draft.hangs_with is None else to_json(set_to_facts(draft.hangs_with)),
        }

    def _record(self, row: Any) -> Ticket:
        with as_written(self._database.path):
            crop = None if row["crop_px"] is None else from_json(row["crop_px"])
            return Ticket(
                id=f"T{row['id']}",
                master_sha256=row["master_sha256"],
                master_path=row["master_path"],
                title=row["title"],
                size_mm=(row["width_mm"], row["height_mm"]),
                size_asked=None if row["size_asked"] is None else Size(*from_json(row["size_asked"])),
                crop_px=None if crop is None else (crop[0], crop[1], crop[2], crop[3]),
                fill=bool(row["fill"]),
                distance_mm=row["distance_mm"],
                condition=row["condition"],
                light=row["light"],
                display=row["display"],
                way=Way(row["way"]),
                correction=Correction(**from_json(row["correction"])),
                correction_origin=row["correction_origin"],
                margins_mm=(
                    row["margin_top_mm"],
                    row["margin_right_mm"],
                    row["margin_bottom_mm"],
                    row["margin_left_mm"],
                ),
                assumed_profile_sha256=row["assumed_profile_sha256"],
                black_and_white=row["black_and_white"],
                must_not_suffer=tuple(str(wish) for wish in from_json(row["must_not_suffer"])),
                hangs_with=None if row["hangs_with"] is None else set_from_facts(from_json(row["hangs_with"])),
                stage=Stage(row["stage"]),
                created=row["created"],
                updated=row["updated"],
            )


class Proofs:
    """Proofs made, numbered from 1 on each ticket."""

    def __init__(self, database: Database, clock: Clock, tickets: Tickets) -> None:
        self._database = database
        self._clock = clock
        self._tickets = tickets

    def add(self, ticket: str, figures: Mapping[str, Any], files: tuple[WrittenFile, ...] = ()) -> ProofEntry:
        """Write down a proof of a ticket: its figures and the files it left."""
        with self._database.write():
            number = self._tickets.number_of(ticket)
            no = next_no(self._database, "proofs", number)
            self._database.change(
                "INSERT INTO proofs (ticket_id, no, at, figures, files) VALUES (?, ?, ?, ?, ?)",
                (number, no, self._clock(), to_json(dict(figures)), files_to_json(files)),
            )
            return self.list(ticket)[-1]

    def list(self, ticket: str) -> tuple[ProofEntry, ...]:
        """A ticket's proofs, oldest first."""
        number = self._tickets.number_of(ticket)
        rows = self._database.rows("SELECT * FROM proofs WHERE ticket_id = ? ORDER BY no", (number,))
        with as_written(self._database.path):
            return tuple(
                ProofEntry(f"T{number}", row["no"], row["at"], from_json(row["figures"]), files_from_json(row["files"]))
                for row in rows
            )


class Finals:
    """Finals made, numbered from 1 on each ticket."""

    def __init__(self, database: Database, clock: Clock, tickets: Tickets) -> None:
        self._database = database
        self._clock = clock
        self._tickets = tickets

    def add(
        self, ticket: str, pixels_sha256: str, settings: Mapping[str, Any], files: tuple[WrittenFile, ...] = ()
    ) -> FinalEntry:
        """Write down a final of a ticket: its decoded samples' SHA-256, how it was made, the files."""
        with self._database.write():
            number = self._tickets.number_of(ticket)
            no = next_no(self._database, "finals", number)
            self._database.change(
                "INSERT INTO finals (ticket_id, no, at, pixels_sha256, settings, files) VALUES (?, ?, ?, ?, ?, ?)",
                (number, no, self._clock(), pixels_sha256, to_json(dict(settings)), files_to_json(files)),
            )
            return self.list(ticket)[-1]

    def list(self, ticket: str) -> tuple[FinalEntry, ...]:
        """A ticket's finals, oldest first."""
        number = self._tickets.number_of(ticket)
        rows = self._database.rows("SELECT * FROM finals WHERE ticket_id = ? ORDER BY no", (number,))
        with as_written(self._database.path):
            return tuple(
                FinalEntry(
                    ticket=f"T{number}",
                    no=row["no"],
                    at=row["at"],
                    pixels_sha256=row["pixels_sha256"],
                    settings=from_json(row["settings"]),
                    files=files_from_json(row["files"]),
                )
                for row in rows
            )


def next_no(database: Database, table: Literal["proofs", "finals", "sheets"], ticket_number: int) -> int:
    rows = database.rows(f"SELECT coalesce(max(no), 0) + 1 FROM {table} WHERE ticket_id = ?", (ticket_number,))
    return int(rows[0][0])
