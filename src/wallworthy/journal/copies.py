"""Backup and restore: the whole journal, stored files included, in one file."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from wallworthy.base.errors import InputError, WallworthyError
from wallworthy.base.files import disk_trouble, whole_file
from wallworthy.journal import migrations
from wallworthy.journal.database import Database, damaged
from wallworthy.journal.health import owners_of_blobs
from wallworthy.journal.journal import FILE_NAME, STORE_NAME, ready_home
from wallworthy.journal.store import Store

_BLOBS: Final = "CREATE TABLE IF NOT EXISTS backup_blobs (sha256 TEXT PRIMARY KEY, data BLOB NOT NULL) STRICT"


def backup(home: Path, target: Path, *, overwrite: bool = False) -> tuple[str, ...]:
    """Copy the journal and its store to one file, as they are at one moment; others may go on writing.

    Stored files that are damaged or missing don't stop it: they are left out, and answered with, a sentence each.
    Raises InputError when there is no sound journal or the target exists, TroubleError for the disk.
    """
    source = _open_sound(home / FILE_NAME)
    try:
        return _copy(source, target, Store(home / STORE_NAME), overwrite=overwrite)
    finally:
        source.close()


def restore(home: Path, source: Path) -> Path | None:
    """Make the home's journal what the backup was; where the journal it replaces was put aside, if there was one.

    The backup is checked through before anything is touched. A damaged journal is moved aside as it is;
    close every other Wallworthy before mending one.
    """
    kept = _open_sound(source)
    try:
        blobs = kept.rows("SELECT sha256, data FROM backup_blobs")
        if any(hashlib.sha256(row["data"]).hexdigest() != row["sha256"] for row in blobs):
            raise damaged(source)
        ready_home(home)
        store = Store(home / STORE_NAME)
        for row in blobs:
            store.put(row["data"])
        aside = _put_aside(home)
        _write_back(kept, home)
    finally:
        kept.close()
    return aside


def _open_sound(path: Path) -> Database:
    """The database, when it is a whole journal of a version this program knows, and nothing in it acts by itself
    but what is ours: the file may come from anywhere. Changes nothing.
    """
    if not path.is_file():
        raise InputError("journal_missing", f"There is no journal at {path}.", "Check the path.", where=str(path))
    database = Database(path)
    try:
        if migrations.refuse_newer(database) == 0 or migrations.acts_by_itself(database):
            raise damaged(path)
        if database.rows("PRAGMA integrity_check(1)")[0][0] != "ok":
            raise damaged(path)
    except BaseException:
        database.close()
        raise
    return database


def _copy(source: Database, target: Path, store: Store | None, *, overwrite: bool = False) -> tuple[str, ...]:
    """Copy a journal, and its store when there is one; what of the store is left out."""
    with whole_file(target, overwrite=overwrite) as temporary:
        copy = Database(temporary)
        try:
            source.copy_to(copy)
            copy.rows("PRAGMA journal_mode = DELETE")
            return () if store is None else _add_blobs(copy, store)
        finally:
            copy.close()


def _add_blobs(copy: Database, store: Store) -> tuple[str, ...]:
    """Add the blobs that are whole; a sentence for each that is not, and for each that the journal misses."""
    owners = owners_of_blobs(copy)
    left: list[str] = []
    with copy.write():
        copy.rows(_BLOBS)
        for sha256 in sorted({*store, *owners}):
            try:
                data = store.get(sha256)
            except WallworthyError as error:
                owner = owners.get(sha256)
                used = "nothing uses it" if owner is None else f"the profile of {owner}"
                left.append(f"{error.text} It was left out: {used}.")
            else:
                copy.rows("INSERT OR REPLACE INTO backup_blobs VALUES (?, ?)", (sha256, data))
    return tuple(left)


def _put_aside(home: Path) -> Path | None:
    """Keep the journal that is there: a sound one by copying it, a damaged one by moving its files."""
    path = home / FILE_NAME
    if not path.exists():
        return None
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    aside = home / f"journal-replaced-{stamp}.sqlite3"
    try:
        database = _open_sound(path)
        try:
            _copy(database, aside, None)
        finally:
            database.close()
    except WallworthyError as refusal:
        if refusal.code != "journal_damaged":
            raise
        try:
            for end in ("-wal", "-shm", ""):
                part = home / (FILE_NAME + end)
                if part.exists():
                    part.rename(home / (aside.name + end))
        except OSError as error:
            raise disk_trouble(error, aside) from error
    return aside


def _write_back(kept: Database, home: Path) -> None:
    """One transaction on the live journal, then what only a backup needs is dropped again."""
    live = Database(home / FILE_NAME)
    try:
        kept.copy_to(live)
        with live.write():
            live.rows("DROP TABLE IF EXISTS backup_blobs")
        migrations.migrate(live)
    finally:
        live.close()
