"""Is the journal sound? Looked into without changing anything it holds."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wallworthy.base.errors import WallworthyError
from wallworthy.journal import migrations
from wallworthy.journal.database import Database
from wallworthy.journal.journal import FILE_NAME, STORE_NAME
from wallworthy.journal.store import Store

BLOBS_READ: Final = 200
"""At most so many stored files are read through; evenly chosen when there are more."""

LEAST_FREE_BYTES: Final = 1 << 30
LARGEST_LOG_BYTES: Final = 64 << 20


@dataclass(frozen=True, slots=True)
class Check:
    """One thing looked at: its name, whether it is well, and a sentence."""

    name: str
    ok: bool
    text: str


def checks(home: Path) -> list[Check]:
    """What `doctor` says of the home folder; never raises for what it finds there."""
    looks: tuple[tuple[str, Callable[[Path], tuple[bool, str]]], ...] = (
        ("home", _writable),
        ("journal", _integrity),
        ("journal log", _log),
        ("store", _blobs),
        ("disk space", _space),
    )
    return [_looked(name, look, home) for name, look in looks]


def _looked(name: str, look: Callable[[Path], tuple[bool, str]], home: Path) -> Check:
    try:
        ok, text = look(home)
    except WallworthyError as error:
        return Check(name, False, f"{error.text} {error.mend}")
    except OSError as error:
        return Check(name, False, f"{home} can't be looked into: {error.strerror or error}.")
    return Check(name, ok, text)


def _writable(home: Path) -> tuple[bool, str]:
    there = _nearest(home)
    if not there.is_dir():
        return False, f"{there} is a file, not a folder; choose another place with --home."
    try:
        with tempfile.TemporaryFile(dir=there) as trial:
            trial.write(b"trial")
            trial.flush()
    except OSError as error:
        return False, f"{there} can't be written: {error.strerror or error}."
    if there != home:
        return True, f"{home} is not there yet; it can be made in {there}."
    return True, f"{home} can be written."


def _nearest(home: Path) -> Path:
    """The home, or the nearest place above it that exists."""
    return next(place for place in (home, *home.absolute().parents) if place.exists())


def _integrity(home: Path) -> tuple[bool, str]:
    path = home / FILE_NAME
    if not path.exists():
        return True, "There is no journal yet; it is made at first use."
    database = Database(path, wait_s=5.0)
    try:
        version = migrations.version_of(database)
        newest = migrations.steps()[-1].number
        if version > newest:
            return False, f"The journal has version {version}, newer than this program's {newest}; update Wallworthy."
        faults = [str(row[0]) for row in database.rows("PRAGMA integrity_check(5)")]
        if faults != ["ok"]:
            return False, f"The journal is damaged ({faults[0]}); restore a backup."
        if astray := len(database.rows("PRAGMA foreign_key_check")):
            return False, f"{astray} rows of the journal refer to something that is not there; restore a backup."
        tickets = database.rows("SELECT count(*) FROM tickets")[0][0] if version >= 2 else 0
    finally:
        database.close()
    return True, f"The journal is sound: version {version}, {_count(int(tickets), 'ticket')}."


def _log(home: Path) -> tuple[bool, str]:
    log = home / f"{FILE_NAME}-wal"
    size = log.stat().st_size if log.exists() else 0
    if size > LARGEST_LOG_BYTES:
        text = (
            f"The journal's log has grown to {size >> 20} MB; close every Wallworthy and open one again to fold it in."
        )
        return False, text
    return True, f"The journal's log holds {size / 1024:.0f} kB not yet folded in."


def _blobs(home: Path) -> tuple[bool, str]:
    store = Store(home / STORE_NAME)
    known = list(store)
    step = max(1, -(-len(known) // BLOBS_READ))
    faults: list[str] = []
    for sha256 in known[::step]:
        try:
            store.get(sha256)
        except WallworthyError as error:
            faults.append(error.text)
    faults += [
        f"The profile of {owner} is missing (stored file {sha256[:12]})."
        for sha256, owner in _owners(home).items()
        if sha256 not in store
    ]
    if faults:
        return False, f"{faults[0]} ({_count(len(faults), 'fault')} in all.) Add the profile again or restore a backup."
    return True, f"{_count(len(known), 'stored file')}, {len(known[::step])} read through and whole."


def _owners(home: Path) -> dict[str, str]:
    path = home / FILE_NAME
    if not path.exists():
        return {}
    database = Database(path, wait_s=5.0)
    try:
        return owners_of_blobs(database)
    finally:
        database.close()


def owners_of_blobs(database: Database) -> dict[str, str]:
    """Every blob the journal counts on, and in words what it belongs to."""
    if migrations.version_of(database) < 2:
        return {}
    rows = database.rows(
        "SELECT assumed_profile_sha256 AS sha256, 'ticket T' || id AS owner FROM tickets"
        " UNION ALL SELECT profile_sha256, 'the master ' || path FROM masters"
        " UNION ALL SELECT profile_sha256, 'the display ' || name FROM displays"
        " UNION ALL SELECT profile_sha256, 'the condition ' || name FROM conditions"
    )
    return {str(row["sha256"]): str(row["owner"]) for row in rows if row["sha256"] is not None}


def _space(home: Path) -> tuple[bool, str]:
    free = shutil.disk_usage(_nearest(home)).free
    if free < LEAST_FREE_BYTES:
        return False, f"Only {free >> 20} MB are free on the home's disk; large finals may not fit."
    return True, f"{free / 1e9:.0f} GB are free on the home's disk."


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
