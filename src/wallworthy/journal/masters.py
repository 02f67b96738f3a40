"""Master files the program has seen, by content."""

from __future__ import annotations

from typing import Any

from wallworthy.base.errors import InputError
from wallworthy.base.records import Master, Notice
from wallworthy.journal.database import Database
from wallworthy.journal.encode import as_written, from_json, to_json
from wallworthy.journal.store import Store

_FACTS = ("format", "width_px", "height_px", "bits", "floating", "space", "alpha", "profile_description", "assumed")


class Masters:
    """One row for each SHA-256; seen again elsewhere, the path and facts are brought up to date.

    What a file says of its own colours stays, whatever profile is named for it later: that is each ticket's own matter.
    """

    def __init__(self, database: Database, store: Store) -> None:
        self._database = database
        self._store = store

    def add(self, master: Master) -> None:
        """Write down a master, or where it is now."""
        if master.is_told and master.sha256 in self and not self.get(master.sha256).is_told:
            self._database.change("UPDATE masters SET path = ? WHERE sha256 = ?", (master.path, master.sha256))
            return
        facts: dict[str, Any] = {name: getattr(master, name) for name in _FACTS}
        facts["capture"] = dict(master.capture)
        facts["notices"] = [[notice.code, notice.text] for notice in master.notices]
        profile = None if master.profile is None else self._store.put(master.profile)
        self._database.change(
            "INSERT INTO masters (sha256, path, profile_sha256, facts) VALUES (?, ?, ?, ?) ON CONFLICT (sha256)"
            " DO UPDATE SET path = excluded.path, profile_sha256 = excluded.profile_sha256, facts = excluded.facts",
            (master.sha256, master.path, profile, to_json(facts)),
        )

    def get(self, sha256: str) -> Master:
        """The master of that content. InputError when it was never seen."""
        rows = self._database.rows("SELECT * FROM masters WHERE sha256 = ?", (sha256,))
        if not rows:
            raise InputError(
                "master_unknown",
                f"No master with the SHA-256 {sha256[:12]} is in the journal.",
                "Start a ticket with the file first.",
                where=sha256,
            )
        return self._record(rows[0])

    def list(self) -> tuple[Master, ...]:
        """All of them, in the order they were first seen."""
        return tuple(self._record(row) for row in self._database.rows("SELECT * FROM masters ORDER BY rowid"))

    def paths(self) -> tuple[str, ...]:
        """Where each master was last seen; without its profile, and so without reading the store."""
        return tuple(str(row["path"]) for row in self._database.rows("SELECT path FROM masters ORDER BY rowid"))

    def __contains__(self, sha256: str) -> bool:
        return bool(self._database.rows("SELECT 1 FROM masters WHERE sha256 = ?", (sha256,)))

    def _record(self, row: Any) -> Master:
        with as_written(self._database.path):
            facts = from_json(row["facts"])
            notices = tuple(Notice(code, text) for code, text in facts.pop("notices"))
            profile = None if row["profile_sha256"] is None else self._store.get(row["profile_sha256"])
            return Master(path=row["path"], sha256=row["sha256"], profile=profile, notices=notices, **facts)
