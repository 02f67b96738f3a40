"""What the person owns, by name: papers, lights, displays, conditions."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, ClassVar, Generic, TypeVar

from wallworthy.base.errors import InputError
from wallworthy.base.records import Condition, ConditionFacts, Delivery, Display, Light, Paper
from wallworthy.journal.database import Database
from wallworthy.journal.encode import as_written, clean_name, from_json, name_key, to_json, unknown_name
from wallworthy.journal.store import Store

Row = Any
Rows = list[Any]

Record = TypeVar("Record", Paper, Light, Display, Condition)


class Named(Generic[Record]):
    """Records under unique names, whatever their case.

    Every writing method is one transaction, or part of the `Journal.write()` around it.
    """

    kind: ClassVar[str]
    select: ClassVar[str]
    referring: ClassVar[tuple[tuple[str, str], ...]]
    """Tables and their columns that point at one of these."""

    def __init__(self, database: Database, store: Store) -> None:
        self._database = database
        self._store = store

    def add(self, record: Record) -> Record:
        """Write down a new one; it comes back as kept (its name tidied). InputError when the name is taken."""
        name = clean_name(self.kind, record.name)
        columns = {"name_key": name_key(name), "name": name, **self._columns(record)}
        places = ", ".join("?" * len(columns))
        with self._database.write():
            if taken := self._rows(name):
                raise name_taken(self.kind, str(taken[0]["name"]))
            self._database.change(
                f"INSERT INTO {self.kind}s ({', '.join(columns)}) VALUES ({places})", tuple(columns.values())
            )
            return self.get(name)

    def replace(self, record: Record) -> Record:
        """Write new values over the one of that name. InputError when there is none."""
        columns = self._columns(record)
        settings = ", ".join(f"{column} = ?" for column in columns)
        with self._database.write():
            number = self.number_of(record.name)
            self._database.change(f"UPDATE {self.kind}s SET {settings} WHERE id = ?", (*columns.values(), number))
            return self.get(record.name)

    def rename(self, name: str, new: str) -> Record:
        """Call one something else; whatever refers to it goes on doing so. InputError when the new name is taken."""
        new = clean_name(self.kind, new)
        with self._database.write():
            number = self.number_of(name)
            taken = self._rows(new)
            if taken and int(taken[0]["id"]) != number:
                raise name_taken(self.kind, str(taken[0]["name"]))
            values = (name_key(new), new, number)
            self._database.change(f"UPDATE {self.kind}s SET name_key = ?, name = ? WHERE id = ?", values)
            return self.get(new)

    def remove(self, name: str) -> None:
        """Forget one that nothing refers to. InputError when something does, or when there is none."""
        with self._database.write():
            number = self.number_of(name)
            for relation, column in self.referring:
                if self._database.rows(f"SELECT 1 FROM {relation} WHERE {column} = ? LIMIT 1", (number,)):
                    raise in_use(self.kind, name)
            self._database.change(f"DELETE FROM {self.kind}s WHERE id = ?", (number,))

    def list(self) -> tuple[Record, ...]:
        """All of them, by name; profiles stay in the store (`profile` is empty here), `get` brings one whole.

        So a stored file that is missing or damaged spoils only its own condition or display, and only when it is used.
        """
        return tuple(self._read(row, whole=False) for row in self._database.rows(f"{self.select} ORDER BY t.name_key"))

    def names(self) -> tuple[str, ...]:
        rows = self._database.rows(f"SELECT name FROM {self.kind}s ORDER BY name_key")
        return tuple(str(row["name"]) for row in rows)

    def get(self, name: str) -> Record:
        """The one of that name. InputError with the nearest names when there is none."""
        rows = self._rows(name)
        if not rows:
            raise unknown_name(self.kind, name, self.names())
        return self._read(rows[0])

    def __contains__(self, name: str) -> bool:
        return bool(self._rows(name))

    def name_of(self, name: str) -> str:
        """The name as it is kept. InputError with the nearest names when there is none."""
        rows = self._rows(name)
        if not rows:
            raise unknown_name(self.kind, name, self.names())
        return str(rows[0]["name"])

    def number_of(self, name: str) -> int:
        """The row a name stands for, for the tables that refer to it."""
        rows = self._rows(name)
        if not rows:
            raise unknown_name(self.kind, name, self.names())
        return int(rows[0]["id"])

    def _rows(self, name: str) -> Rows:
        return self._database.rows(f"{self.select} WHERE t.name_key = ?", (name_key(name),))

    def _read(self, row: Row, *, whole: bool = True) -> Record:
        with as_written(self._database.path):
            return self._record(row, whole=whole)

    def _profile(self, row: Row, *, whole: bool) -> bytes:
        return self._store.get(row["profile_sha256"]) if whole else b""

    def _columns(self, record: Record) -> dict[str, Any]:
        raise NotImplementedError

    def _record(self, row: Row, *, whole: bool) -> Record:
        raise NotImplementedError


def name_taken(kind: str, name: str) -> InputError:
    return InputError(
        "name_taken",
        f"There is already a {kind} called '{name}'.",
        f"Choose another name, or see what it is with 'wallworthy {kind} show'.",
        where=name,
    )


def in_use(kind: str, name: str) -> InputError:
    return InputError(
        f"{kind}_in_use",
        f"'{name}' can't be removed: a record of the journal speaks of it.",
        "Leave it; records stay as they were made.",
        where=name,
    )


class Papers(Named[Paper]):
    kind = "paper"
    select = "SELECT t.* FROM papers t"
    referring = (("conditions", "paper_id"),)

    def _columns(self, record: Paper) -> dict[str, Any]:
        return {
            "surface": record.surface,
            "weight_g_m2": record.weight_g_m2,
            "stock": to_json(dict(record.stock)),
            "prices": to_json(dict(record.prices)),
        }

    def _record(self, row: Row, *, whole: bool) -> Paper:
        return Paper(row["name"], row["surface"], row["weight_g_m2"], from_json(row["stock"]), from_json(row["prices"]))


class Lights(Named[Light]):
    kind = "light"
    select = "SELECT t.* FROM lights t"
    referring = (("tickets", "light_id"), ("lessons", "light_id"))

    def _columns(self, record: Light) -> dict[str, Any]:
        low, high = record.illuminance_interval_lx
        return {
            "illuminance_lx": record.illuminance_lx,
            "illuminance_low_lx": low,
            "illuminance_high_lx": high,
            "cct_k": record.cct_k,
            "duv_from_d50": record.duv_from_d50,
            "surround": record.surround,
            "paper_white_cd_m2": record.paper_white_cd_m2,
            "spectrum": to_json(list(record.spectrum)),
        }

    def _record(self, row: Row, *, whole: bool) -> Light:
        return Light(
            name=row["name"],
            illuminance_lx=row["illuminance_lx"],
            illuminance_interval_lx=(row["illuminance_low_lx"], row["illuminance_high_lx"]),
            cct_k=row["cct_k"],
            duv_from_d50=row["duv_from_d50"],
            surround=row["surround"],
            paper_white_cd_m2=row["paper_white_cd_m2"],
            spectrum=tuple(float(power) for power in from_json(row["spectrum"])),
        )


class Displays(Named[Display]):
    kind = "display"
    select = "SELECT t.* FROM displays t"
    referring = (("tickets", "display_id"), ("lessons", "display_id"))

    def _columns(self, record: Display) -> dict[str, Any]:
        return {
            "profile_sha256": self._store.put(record.profile),
            "profile_description": record.profile_description,
            "white_cd_m2": record.white_cd_m2,
            "calibrated_on": record.calibrated_on,
        }

    def _record(self, row: Row, *, whole: bool) -> Display:
        return Display(
            name=row["name"],
            profile=self._profile(row, whole=whole),
            profile_description=row["profile_description"],
            white_cd_m2=row["white_cd_m2"],
            calibrated_on=row["calibrated_on"],
        )


class Conditions(Named[Condition]):
    """Conditions; the paper they print on must be known first. `profile_sha256` is the profile's own."""

    kind = "condition"
    select = "SELECT t.*, p.name AS paper FROM conditions t LEFT JOIN papers p ON p.id = t.paper_id"
    referring = (
        ("tickets", "condition_id"),
        ("lessons", "condition_id"),
        ("part_sheets", "condition_id"),
        ("changes", "condition_id"),
    )

    def __init__(self, database: Database, store: Store, papers: Papers) -> None:
        super().__init__(database, store)
        self._papers = papers

    def _columns(self, record: Condition) -> dict[str, Any]:
        return {
            "paper_id": None if record.paper is None else self._papers.number_of(record.paper),
            "profile_sha256": self._store.put(record.profile),
            "delivery": str(record.delivery),
            "media": record.media,
            "guess": int(record.guess),
            "facts": to_json(asdict(record.facts)),
            "ink_spread_per_mm": record.ink_spread_per_mm,
        }

    def _record(self, row: Row, *, whole: bool) -> Condition:
        return Condition(
            name=row["name"],
            paper=row["paper"],
            profile=self._profile(row, whole=whole),
            profile_sha256=row["profile_sha256"],
            delivery=Delivery(row["delivery"]),
            media=row["media"],
            guess=bool(row["guess"]),
            facts=_facts(from_json(row["facts"])),
            ink_spread_per_mm=row["ink_spread_per_mm"],
        )


def _facts(values: dict[str, Any]) -> ConditionFacts:
    """Lists of JSON back to the record's tuples."""
    return ConditionFacts(**{key: tuple(v) if isinstance(v, list) else v for key, v in values.items()})  # pyright: ignore
