"""Bringing a journal file up to date, one numbered step after the other, each in one transaction.

The steps are the files schema/NNNN_name.sql. A step that has been released is never edited.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Final

from wallworthy.base.errors import InputError
from wallworthy.journal.database import Database, damaged

APPLICATION_ID: Final = 0x57414C4C
"""'WALL' in the SQLite header: this file is a Wallworthy journal."""

_VERSIONS: Final = """CREATE TABLE schema_versions (
    number INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    at TEXT NOT NULL
) STRICT"""


@dataclass(frozen=True, slots=True)
class Step:
    number: int
    name: str
    statements: tuple[str, ...]


@cache
def steps() -> tuple[Step, ...]:
    """All steps in order, numbered 1, 2, 3 ... without gaps."""
    found: list[Step] = []
    for path in sorted((Path(__file__).parent / "schema").glob("*.sql")):
        number, _, name = path.stem.partition("_")
        found.append(Step(int(number), name, tuple(_statements(path.read_text("utf-8")))))
    if [step.number for step in found] != list(range(1, len(found) + 1)):
        raise AssertionError(f"migrations must be numbered 1, 2, 3 ...: {[step.number for step in found]}")
    return tuple(found)


def version_of(database: Database) -> int:
    """The last step the file has been through; 0 for a file with nothing in it.

    Raises InputError when the file is somebody else's database.
    """
    tables = {row["name"] for row in database.rows("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    if not tables:
        return 0
    if "schema_versions" not in tables or database.rows("PRAGMA application_id")[0][0] != APPLICATION_ID:
        raise damaged(database.path)
    return int(database.rows("SELECT coalesce(max(number), 0) FROM schema_versions")[0][0])


def refuse_newer(database: Database) -> int:
    """The file's version. Raises InputError when it has been through steps this program does not know."""
    newest = steps()[-1].number
    version = version_of(database)
    if version > newest:
        raise InputError(
            "journal_newer",
            f"The journal was written by a newer Wallworthy: it has version {version}, this program knows {newest}.",
            "Update Wallworthy, or choose another place with --home; the journal was left untouched.",
            where=str(database.path),
        )
    return version


def acts_by_itself(database: Database) -> tuple[str, ...]:
    """Names of triggers and views in the file that no step of ours made: they would run in our name."""
    ours = {statement.rstrip(";").rstrip() for step in steps() for statement in step.statements}
    rows = database.rows("SELECT name, sql FROM sqlite_schema WHERE type IN ('trigger', 'view') ORDER BY name")
    return tuple(str(row["name"]) for row in rows if row["sql"] not in ours)


def migrate(database: Database, *, up_to: int | None = None) -> None:
    """Take the steps still to be taken, up to `up_to` (default: all).

    Two processes may do this at once: each looks again once it is its turn to write.
    Raises InputError, changing nothing, when the file is somebody else's or from a newer program.
    """
    refuse_newer(database)
    database.use_wal()
    for step in steps()[version_of(database) : up_to]:
        with database.write():
            _take(database, step)


def _take(database: Database, step: Step) -> None:
    version = version_of(database)
    if version >= step.number:
        return
    if version == 0:
        database.rows(f"PRAGMA application_id = {APPLICATION_ID}")
        if not database.rows("SELECT 1 FROM sqlite_schema WHERE name = 'schema_versions'"):
            database.rows(_VERSIONS)
    for statement in step.statements:
        database.rows(statement)
    now = datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    database.rows("INSERT INTO schema_versions VALUES (?, ?, ?)", (step.number, step.name, now))


def _statements(text: str) -> Iterator[str]:
    """The statements of an SQL file; a trigger with semicolons inside stays one statement."""
    statement = ""
    for line in text.splitlines(keepends=True):
        if not statement and (not line.strip() or line.startswith("--")):
            continue
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement.strip()
            statement = ""
    if statement.strip():
        raise AssertionError(f"an unfinished statement ends a migration: {statement!r}")
