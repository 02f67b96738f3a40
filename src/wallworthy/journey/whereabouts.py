"""Where a ticket's master is, or a file that was written: there and unchanged, gone, or another file by now; and
pointing at a master again."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from pathlib import Path

from wallworthy.base.errors import InputError
from wallworthy.base.files import disk_trouble, make_folder, sha256_of
from wallworthy.base.ticket import Ticket
from wallworthy.journey.home import opened
from wallworthy.journey.incoming import MASTERS
from wallworthy.journey.page import MasterPlace
from wallworthy.master.open import open_master
from wallworthy.raster.facts import FileStamp, stamp_of


def master_place(ticket: Ticket) -> MasterPlace:
    """Whether the master lies where it was. It is read only when something befell it after the ticket was begun."""
    return place_of(Path(ticket.master_path), ticket.master_sha256, ticket.created)


def place_of(path: Path, sha256: str, since: str) -> MasterPlace:
    """Whether a file is still what it was. It is read only when something befell it since (ISO 8601 UTC).

    A file that is put in its place with an older date, as from a backup, was still touched when that was done.
    """
    try:
        state = path.stat()
        touched = max(state.st_mtime, state.st_ctime)
        if not path.is_file():
            return "gone"
        if touched <= datetime.fromisoformat(since).timestamp():
            return "here"
        return "here" if _content(path, stamp_of(path), touched) == sha256 else "changed"
    except OSError:
        return "gone"


@lru_cache(maxsize=1024)
def _content(path: Path, stamp: FileStamp, touched: float) -> str:
    return sha256_of(path)


def find_again(home: Path, ticket_id: str, landed: Path, name: str) -> str:
    """Keep a landed file as the master of this ticket and of every other that has lost it; the ticket's id.

    Raises InputError when it is another picture: what was promised was promised of that content.
    """
    content = sha256_of(landed)
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        if content != ticket.master_sha256:
            raise InputError(
                "master_other",
                f"{name} is another picture than the one {ticket.id} was begun with, or it was changed since.",
                "Lay down the file as it was then, or begin a new print with this one.",
                where="file",
            )
        target = _settled(home, landed, name, content)
        with journal.write():
            for other in journal.tickets.list():
                lost = other.id == ticket.id or master_place(other) != "here"
                if other.master_sha256 == content and lost:
                    assumed = other.assumed_profile_sha256
                    profile = None if assumed is None else journal.store.get(assumed)
                    journal.masters.add(open_master(target, assume=profile))
                    journal.tickets.update(replace(other, master_path=str(target)))
                    journal.tickets.note(other.id, "master found again", {"file": target.name})
    return ticket.id


def _settled(home: Path, landed: Path, name: str, content: str) -> Path:
    """The file in its place in the home; one that was there and is no longer what it was makes room."""
    folder = home / MASTERS / content
    make_folder(folder)
    old = next((path for path in sorted(folder.iterdir()) if not path.name.startswith(".")), None)
    target = folder / name if old is None else old
    try:
        landed.replace(target)
    except OSError as error:
        raise disk_trouble(error, target) from error
    return target
