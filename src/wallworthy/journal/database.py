"""One SQLite connection, set so that what was acknowledged stays, with every refusal in a sentence.

WAL with synchronous=FULL: a commit returns only after the log has been flushed. Writers take turns
(BEGIN IMMEDIATE) and wait for each other; readers never wait.
"""

from __future__ import annotations

import re
import sqlite3
import time
from collections.abc import Generator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from wallworthy.base.errors import InputError, TroubleError, WallworthyError
from wallworthy.base.files import barrier

WAIT_S: Final = 30.0
"""How long one writer waits for another before giving up."""

_UNKEEPABLE: Final = re.compile("[\ud800-\udfff\x1a]")
_ESCAPED: Final = re.compile("\x1a([0-9A-F]{4})")

_DAMAGED: Final = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT}
_BUSY: Final = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_DISK: Final = {
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_AUTH,
}


class Database:
    """A connection to one file. Use it from the thread that made it, and close it."""

    def __init__(self, path: Path, *, wait_s: float = WAIT_S) -> None:
        self.path = path
        self._wait_s = wait_s
        self._depth = 0
        with self._plainly():
            self._connection = sqlite3.connect(path, timeout=wait_s, isolation_level=None)
        try:
            self._settle()
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        self._connection.close()

    def rows(self, sql: str, values: Sequence[Any] = ()) -> list[sqlite3.Row]:
        """All rows a statement answers with."""
        with self._plainly():
            return self._connection.execute(sql, [_kept(value) for value in values]).fetchall()

    def change(self, sql: str, values: Sequence[Any] = ()) -> int:
        """Run one writing statement, in the transaction around it or in its own; the new row's number."""
        with self.write(), self._plainly():
            return self._connection.execute(sql, [_kept(value) for value in values]).lastrowid or 0

    @contextmanager
    def write(self) -> Generator[None]:
        """One transaction: all of the block is kept, or none of it. Blocks may stand inside each other."""
        begin, keep, drop = self._words()
        with self._plainly():
            self._connection.execute(begin)
        self._depth += 1
        try:
            yield
            if self._depth == 1:
                barrier("inside-transaction")
            with self._plainly():
                self._connection.execute(keep)
        except BaseException:
            if self._connection.in_transaction:
                for sql in drop:
                    self._connection.execute(sql)
            raise
        finally:
            self._depth -= 1

    def use_wal(self) -> None:
        """Write-ahead log from now on. The switch asks for the file alone and does not wait by itself; so wait here."""
        end = time.monotonic() + self._wait_s
        while True:
            try:
                self.rows("PRAGMA journal_mode = WAL")
            except TroubleError as trouble:
                if trouble.code != "journal_busy" or time.monotonic() > end:
                    raise
                time.sleep(0.02)
            else:
                return

    def copy_to(self, other: Database) -> None:
        """Make `other` a copy of this, all at once, while others go on writing here (SQLite's online backup)."""
        with self._plainly(), other._plainly():
            self._connection.backup(other._connection)

    def _words(self) -> tuple[str, str, tuple[str, ...]]:
        if self._depth == 0:
            return "BEGIN IMMEDIATE", "COMMIT", ("ROLLBACK",)
        name = f"inner_{self._depth}"
        return f"SAVEPOINT {name}", f"RELEASE {name}", (f"ROLLBACK TO {name}", f"RELEASE {name}")

    def _settle(self) -> None:
        self._connection.row_factory = sqlite3.Row
        self._connection.text_factory = _given_back
        self.rows("PRAGMA trusted_schema = OFF")
        self.rows("PRAGMA foreign_keys = ON")
        self.rows("PRAGMA synchronous = FULL")

    @contextmanager
    def _plainly(self) -> Generator[None]:
        try:
            yield
        except UnicodeDecodeError as error:
            raise damaged(self.path) from error
        except sqlite3.Error as error:
            refusal = refusal_for(error, self.path)
            if refusal is None:
                raise
            raise refusal from error


def _kept(value: Any) -> Any:
    """Text that SQLite can keep: file names that are not UTF-8 reach Python as lone surrogates, which it can't."""
    return _UNKEEPABLE.sub(lambda found: f"\x1a{ord(found[0]):04X}", value) if isinstance(value, str) else value


def _given_back(text: bytes) -> str:
    """The text as it was before `_kept`."""
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text.decode())


def refusal_for(error: sqlite3.Error, path: Path) -> WallworthyError | None:
    """The sentence for an SQLite error; None when it is not the file's or the disk's doing."""
    code = getattr(error, "sqlite_errorcode", None)
    kind = code & 0xFF if isinstance(code, int) else None
    where = str(path)
    if kind in _DAMAGED or (kind == sqlite3.SQLITE_ERROR and "no such" in str(error)):
        return damaged(path)
    if kind == sqlite3.SQLITE_FULL:
        return TroubleError(
            "disk_full",
            "The disk is full: the journal was left as it was.",
            "Free some space and give the same command again; nothing is lost.",
            where=where,
        )
    if kind in _BUSY:
        return TroubleError(
            "journal_busy",
            "Another Wallworthy has been writing in the journal for too long.",
            "Let it finish, then give the same command again; nothing is lost.",
            where=where,
        )
    if kind in _DISK:
        return TroubleError(
            "journal_unwritable",
            f"The journal can't be read or written in {path.parent}: {error}.",
            "See to the folder's permissions or the disk, or choose another place with --home; nothing is lost.",
            where=where,
        )
    return None


def damaged(path: Path) -> InputError:
    """The sentence for a journal file that is not, or no longer, a journal."""
    return InputError(
        "journal_damaged",
        f"{path} is damaged or is not a Wallworthy journal; it was left untouched.",
        "Put a backup in its place, or move the file away to start a new journal.",
        where=str(path),
    )
