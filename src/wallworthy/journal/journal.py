"""The journal: everything acknowledged, in one SQLite file and a folder of blobs beside it."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from wallworthy.base.errors import InputError
from wallworthy.base.files import disk_trouble, make_folder, sweep
from wallworthy.journal import migrations
from wallworthy.journal.belongings import Conditions, Displays, Lights, Papers
from wallworthy.journal.database import Database
from wallworthy.journal.masters import Masters
from wallworthy.journal.sheets import Lessons, Sheets
from wallworthy.journal.store import Store
from wallworthy.journal.tickets import Finals, Proofs, Tickets

FILE_NAME: Final = "journal.sqlite3"
STORE_NAME: Final = "store"


def utc_now() -> str:
    """Now, ISO 8601 in UTC to the millisecond: 2031-05-04T18:22:07.125Z."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


class Journal:
    """An open journal. Use it as a context manager, from one thread; any number of processes may have it open.

    A method that writes is done, and durable, when it returns; inside `with journal.write():` the
    whole block is one transaction. Errors: InputError for names and for a damaged file, TroubleError
    for the disk; the journal stays as it was.
    """

    def __init__(self, home: Path, database: Database, clock: Callable[[], str]) -> None:
        self.home = home
        self._database = database
        self.store = Store(home / STORE_NAME)
        self.papers = Papers(database, self.store)
        self.lights = Lights(database, self.store)
        self.displays = Displays(database, self.store)
        self.conditions = Conditions(database, self.store, self.papers)
        self.masters = Masters(database, self.store)
        self.tickets = Tickets(database, clock, self.conditions, self.lights, self.displays)
        self.proofs = Proofs(database, clock, self.tickets)
        self.finals = Finals(database, clock, self.tickets)
        self.sheets = Sheets(database, clock, self.tickets, self.conditions)
        self.lessons = Lessons(database, clock, self.tickets, self.conditions, self.lights, self.displays)

    @classmethod
    def open(cls, home: Path, *, clock: Callable[[], str] = utc_now) -> Self:
        """Open the journal in `home`, making it (and the folder) at first use and bringing it up to date.

        Raises TroubleError when the folder can't be written, InputError when the file is damaged, not
        a journal, or from a newer program; nothing is overwritten then.
        """
        ready_home(home)
        database = Database(home / FILE_NAME)
        try:
            migrations.migrate(database)
        except BaseException:
            database.close()
            raise
        return cls(home, database, clock)

    def write(self) -> AbstractContextManager[None]:
        """One transaction: everything written in the block is kept together, or none of it."""
        return self._database.write()

    def close(self) -> None:
        self._database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        self.close()


def ready_home(home: Path) -> None:
    """The home folder exists; what a killed process left half-written there long ago is swept away."""
    try:
        if home.exists() and not home.is_dir():
            raise InputError(
                "home_not_folder",
                f"{home} is a file, not a folder.",
                "Choose another place with --home.",
                where=str(home),
            )
        make_folder(home)
        sweep(home)
        for folder in (home / STORE_NAME).glob("??"):
            sweep(folder)
    except OSError as error:
        raise disk_trouble(error, home) from error
