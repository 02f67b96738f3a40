"""Damaged, foreign, newer and unwritable journals: one sentence each, and nothing overwritten."""

from __future__ import annotations

import dataclasses
import random
import shutil
import sqlite3
from pathlib import Path

import pytest

from support.disks import fill, read_only, shut_folder, small_disk
from support.stream import a_condition, a_draft, a_master
from wallworthy.base.errors import InputError, TroubleError, WallworthyError
from wallworthy.base.records import Display, Paper
from wallworthy.journal import copies, migrations
from wallworthy.journal.database import Database
from wallworthy.journal.health import checks
from wallworthy.journal.journal import FILE_NAME, Journal
from wallworthy.journal.store import Store

pytestmark = pytest.mark.practice

NEWEST = migrations.steps()[-1].number


def filled(home: Path, papers: int = 40) -> Path:
    """A home with some of everything in its journal; the journal's file."""
    with Journal.open(home) as journal:
        journal.conditions.add(a_condition())
        journal.masters.add(a_master())
        with journal.write():
            for number in range(papers):
                journal.papers.add(Paper(f"Paper {number}", stock={"A4": number}))
            for number in range(papers):
                ticket = journal.tickets.open(a_draft(f"Picture {number}"))
                journal.tickets.note(ticket.id, "started", {"text": "x" * 200})
    return home / FILE_NAME


def read_all(home: Path) -> int:
    """Everything in the journal, read once."""
    with Journal.open(home) as journal:
        events = [event for ticket in journal.tickets.list() for event in journal.tickets.events(ticket.id)]
        return len(journal.papers.list()) + len(events) + len(journal.conditions.list()) + len(journal.masters.list())


@pytest.mark.parametrize("junk", [b"not a database at all" * 100, b"SQLite format 3\0" + bytes(84), b"\0" * 5000])
def test_a_file_that_is_no_database_is_refused_and_kept(tmp_path: Path, junk: bytes) -> None:
    path = tmp_path / FILE_NAME
    path.write_bytes(junk)
    with pytest.raises(InputError, match="damaged or is not a Wallworthy journal") as refusal:
        Journal.open(tmp_path)
    assert (refusal.value.code, refusal.value.exit_status) == ("journal_damaged", 3)
    assert path.read_bytes() == junk
    assert [check.ok for check in checks(tmp_path) if check.name == "journal"] == [False]


def test_somebody_else_s_database_is_refused_and_kept(tmp_path: Path) -> None:
    path = tmp_path / FILE_NAME
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE schema_versions (number INTEGER)")
    connection.commit()
    connection.close()
    before = path.read_bytes()
    with pytest.raises(InputError, match="is not a Wallworthy journal"):
        Journal.open(tmp_path)
    assert path.read_bytes() == before


def test_an_empty_file_is_a_journal_that_was_never_begun(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).touch()
    with Journal.open(tmp_path) as journal:
        assert journal.papers.add(Paper("A")).name == "A"


@pytest.mark.parametrize("at_head", [True, False])
def test_damage_anywhere_is_a_sentence_never_a_traceback(tmp_path: Path, at_head: bool) -> None:
    """Bytes of every page overwritten in turn: refused or found by the check; no other error.

    At the head of a page it must be noticed; elsewhere it may fall on unused space or inside a text.
    """
    whole = filled(tmp_path / "whole").read_bytes()
    seeded = random.Random(9)
    answers: list[str] = []
    for place in range(0, len(whole), 4096):
        home = tmp_path / f"at{place}"
        home.mkdir()
        shutil.copytree(tmp_path / "whole" / "store", home / "store")
        hurt = bytearray(whole)
        start = place + (0 if at_head else seeded.randrange(1, 3800))
        hurt[start : start + 200] = seeded.randbytes(200)
        (home / FILE_NAME).write_bytes(hurt)
        answers.append(answer_of(home))
    assert set(answers) - {"journal_damaged", "found by the check"} <= (set() if at_head else {"not found"})
    assert answers.count("journal_damaged") >= 5


def answer_of(home: Path) -> str:
    """How damage shows: the refusal's code, or whether the check finds it."""
    try:
        read_all(home)
    except InputError as refusal:
        return refusal.code
    return "not found" if all(check.ok for check in checks(home)) else "found by the check"


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_a_journal_cut_short_is_refused_and_kept(tmp_path: Path, share: float) -> None:
    path = filled(tmp_path)
    cut = path.read_bytes()[: int(path.stat().st_size * share)]
    path.write_bytes(cut)
    with pytest.raises(InputError, match="damaged"):
        read_all(tmp_path)
    assert path.read_bytes() == cut


def test_a_newer_journal_is_refused_and_kept(tmp_path: Path) -> None:
    path = filled(tmp_path)
    connection = sqlite3.connect(path)
    connection.execute("INSERT INTO schema_versions VALUES (?, 'later', '2099-01-01')", (NEWEST + 4,))
    connection.commit()
    connection.close()
    before = path.read_bytes()
    with pytest.raises(InputError, match=f"has version {NEWEST + 4}, this program knows {NEWEST}") as refusal:
        Journal.open(tmp_path)
    assert "Update Wallworthy" in refusal.value.mend
    assert path.read_bytes() == before


@pytest.mark.parametrize("version", range(NEWEST))
def test_every_earlier_version_is_brought_up_to_date(tmp_path: Path, version: int) -> None:
    database = Database(tmp_path / FILE_NAME)
    migrations.migrate(database, up_to=version)
    assert migrations.version_of(database) == version
    if version >= 1:
        database.change("INSERT INTO papers VALUES (7, 'old', 'Old', 'matt', 310.5, '{\"A4\": 3}', '{}')")
    if version >= 2:
        database.change("INSERT INTO masters VALUES ('ab', 'a.tif', NULL, '{}')")
    database.close()
    with Journal.open(tmp_path) as journal:
        if version >= 1:
            assert journal.papers.get("old") == Paper("Old", "matt", 310.5, {"A4": 3})
        journal.conditions.add(a_condition())
        journal.masters.add(a_master())
        assert journal.tickets.note(journal.tickets.open(a_draft()).id, "started").kind == "started"
        assert ("ab" in journal.masters) == (version >= 2)
    with sqlite3.connect(tmp_path / FILE_NAME) as connection:
        numbers = [row[0] for row in connection.execute("SELECT number FROM schema_versions ORDER BY number")]
    connection.close()
    assert numbers == list(range(1, NEWEST + 1))


def test_a_border_of_before_has_its_width_on_all_sides(tmp_path: Path) -> None:
    width = 12.345678901234567
    database = Database(tmp_path / FILE_NAME)
    migrations.migrate(database, up_to=7)
    database.change(
        "INSERT INTO conditions (id, name_key, name, profile_sha256, delivery, guess, facts) "
        "VALUES (1, 'old', 'Old', 'ab', 'numbers', 0, '{}')"
    )
    database.change("INSERT INTO masters VALUES ('ab', 'a.tif', NULL, '{}')")
    database.change(
        "INSERT INTO tickets (master_sha256, master_path, title, width_mm, height_mm, fill, distance_mm, condition_id,"
        " way, correction, correction_origin, border_mm, stage, created, updated)"
        " VALUES ('ab', 'a.tif', 'Old', 300, 200, 0, 360, 1, 'relative', '{}', 'zero', ?, 'final', '', '')",
        (width,),
    )
    database.close()
    with Journal.open(tmp_path) as journal:
        old = journal.tickets.get("T1")
        assert old.margins_mm == (width, width, width, width)
        sides = (1.5, width, 0.0, 1e-9)
        journal.tickets.update(dataclasses.replace(old, margins_mm=sides))
        assert journal.tickets.get("T1").margins_mm == sides


def test_upgraded_and_new_journals_have_the_same_tables(tmp_path: Path) -> None:
    def tables(home: Path, first: int) -> list[tuple[str, str]]:
        home.mkdir()
        database = Database(home / FILE_NAME)
        migrations.migrate(database, up_to=first)
        migrations.migrate(database)
        rows = database.rows("SELECT name, sql FROM sqlite_schema ORDER BY name")
        database.close()
        return [(row["name"], row["sql"]) for row in rows]

    assert tables(tmp_path / "new", NEWEST) == tables(tmp_path / "upgraded", 1)


def test_a_step_that_fails_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = migrations.Step(NEWEST + 1, "broken", ("CREATE TABLE extra (a TEXT) STRICT", "CREATE TABLE papers (a)"))
    filled(tmp_path)
    good = migrations.steps()
    with monkeypatch.context() as patch:
        patch.setattr(migrations, "steps", lambda: (*good, broken))
        with pytest.raises(sqlite3.OperationalError, match="already exists"):
            Journal.open(tmp_path)
    database = Database(tmp_path / FILE_NAME)
    assert migrations.version_of(database) == NEWEST
    assert database.rows("SELECT 1 FROM sqlite_schema WHERE name = 'extra'") == []
    database.close()


def test_a_home_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "home").write_bytes(b"mine")
    with pytest.raises(InputError, match="is a file, not a folder"):
        Journal.open(tmp_path / "home")
    assert (tmp_path / "home").read_bytes() == b"mine"


def test_an_unwritable_home_is_told(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk") as disk:
        filled(disk / "home", papers=2)
        with read_only(disk):
            with pytest.raises(TroubleError) as refusal:
                Journal.open(disk / "home").papers.add(Paper("A"))
            with pytest.raises(TroubleError) as fresh:
                Journal.open(disk / "new")
            assert any(not check.ok for check in checks(disk / "home"))
        assert {refusal.value.exit_status, fresh.value.exit_status} == {4}
        assert read_all(disk / "home") == 6


def test_a_home_without_permission_is_told() -> None:
    with shut_folder() as folder:
        for home in (folder, folder / "home"):
            with pytest.raises(TroubleError) as refusal:
                Journal.open(home)
            assert refusal.value.exit_status == 4
            assert any(not check.ok for check in checks(home))
        assert list(folder.iterdir()) == []


def test_a_full_disk_is_told_and_the_journal_goes_on_afterwards(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk") as disk, Journal.open(disk / "home") as journal:
        journal.papers.add(Paper("A"))
        fill(disk, leave=8192)
        refusals = []
        for number in range(200):
            try:
                journal.papers.add(Paper(f"B{number}", stock={f"size {key}": key for key in range(200)}))
            except TroubleError as trouble:
                refusals.append(trouble.code)
                break
        with pytest.raises(TroubleError, match="disk is full"):
            journal.store.put(bytes(1 << 20))
        assert refusals == ["disk_full"]
        kept = journal.papers.names()
        (disk / "ballast").unlink()
        journal.papers.add(Paper("C"))
        assert journal.papers.names() == tuple(sorted([*kept, "C"], key=str.casefold))
        assert all(check.ok for check in checks(disk / "home") if check.name != "disk space")


def test_a_database_that_can_t_grow_is_told_and_left_as_it_was(tmp_path: Path) -> None:
    """The same without a disk of one's own: SQLite is told that the file has reached its limit."""
    filled(tmp_path)
    before = read_all(tmp_path)
    database = Database(tmp_path / FILE_NAME)
    database.rows("PRAGMA max_page_count = 1")
    with pytest.raises(TroubleError, match="disk is full") as refusal, database.write():
        database.change("INSERT INTO papers VALUES (999, 'big', ?, NULL, NULL, '{}', '{}')", ("x" * 100_000,))
    database.close()
    assert refusal.value.code == "disk_full"
    assert read_all(tmp_path) == before


def test_the_store_keeps_and_checks_bytes(tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    sha256 = store.put(b"abc")
    assert sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert store.path_of(sha256) == tmp_path / "store" / "ba" / sha256
    assert store.put(b"abc") == sha256
    assert store.get(sha256) == b"abc"
    assert list(store) == [sha256]
    store.path_of(sha256).write_bytes(b"abd")
    with pytest.raises(InputError, match="no longer what it was"):
        store.get(sha256)
    assert store.put(b"abc") == sha256
    assert store.get(sha256) == b"abc"
    store.path_of(sha256).unlink()
    with pytest.raises(InputError, match="is missing"):
        store.get(sha256)
    assert sha256 not in store


@pytest.mark.parametrize("sha256", ["", "abc", "../../etc/passwd", "A" * 64, "0" * 63])
def test_only_hashes_are_looked_up(tmp_path: Path, sha256: str) -> None:
    with pytest.raises(InputError, match="is not a SHA-256"):
        Store(tmp_path).get(sha256)


def test_health_names_what_is_wrong_with_the_store(tmp_path: Path) -> None:
    filled(tmp_path)
    assert all(check.ok for check in checks(tmp_path) if check.name != "disk space")
    store = Store(tmp_path / "store")
    first, second = list(store)
    store.path_of(first).write_bytes(b"hurt")
    store.path_of(second).unlink()
    [blobs] = [check for check in checks(tmp_path) if check.name == "store"]
    assert not blobs.ok
    assert "2 faults" in blobs.text


def test_health_of_a_home_never_used(tmp_path: Path) -> None:
    found = checks(tmp_path / "home")
    assert [check.name for check in found] == ["home", "journal", "journal log", "store", "disk space"]
    assert all(check.ok for check in found if check.name != "disk space")
    assert list(tmp_path.iterdir()) == [], "looking makes nothing"


def test_health_of_a_home_that_is_a_file_or_below_one(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"mine")
    for home in (tmp_path / "file", tmp_path / "file" / "home"):
        assert {check.name: check.ok for check in checks(home)}["home"] is False
    assert (tmp_path / "file").read_bytes() == b"mine"


def test_looking_into_a_home_changes_nothing(tmp_path: Path) -> None:
    filled(tmp_path / "home")
    before = {path: path.stat().st_mtime_ns for path in (tmp_path / "home").rglob("*") if path.is_file()}
    assert all(check.ok for check in checks(tmp_path / "home") if check.name != "disk space")
    after = {path: path.stat().st_mtime_ns for path in (tmp_path / "home").rglob("*") if path.is_file()}
    assert {path: time for path, time in after.items() if path in before} == before
    assert {path.name for path in after} - {path.name for path in before} <= {f"{FILE_NAME}-wal", f"{FILE_NAME}-shm"}


def test_one_missing_profile_spoils_only_itself(tmp_path: Path) -> None:
    with Journal.open(tmp_path) as journal:
        for name in ("A", "B"):
            condition = dataclasses.replace(a_condition(name), profile=f"profile {name}".encode())
            kept = journal.conditions.add(condition)
            journal.displays.add(Display(f"screen {name}", condition.profile, "A screen"))
        journal.store.path_of(kept.profile_sha256).unlink()
        assert [condition.name for condition in journal.conditions.list()] == ["A", "B"]
        assert journal.conditions.list()[1].facts == kept.facts
        assert [display.name for display in journal.displays.list()] == ["screen A", "screen B"]
        assert journal.conditions.get("A").profile == b"profile A"
        for get, name in ((journal.conditions.get, "B"), (journal.displays.get, "screen B")):
            with pytest.raises(InputError, match="is missing from") as refusal:
                get(name)
            assert refusal.value.code == "store_missing"
        journal.displays.replace(Display("screen B", b"another", "A screen"))
    [store] = [check for check in checks(tmp_path) if check.name == "store"]
    assert not store.ok
    assert "The profile of the condition B is missing" in store.text


def test_backup_and_restore_bring_everything_back(tmp_path: Path) -> None:
    filled(tmp_path / "home", papers=3)
    copies.backup(tmp_path / "home", tmp_path / "backup.sqlite3")
    with pytest.raises(InputError, match="is there already"):
        copies.backup(tmp_path / "home", tmp_path / "backup.sqlite3")
    assert copies.restore(tmp_path / "elsewhere", tmp_path / "backup.sqlite3") is None
    assert read_all(tmp_path / "elsewhere") == read_all(tmp_path / "home") == 8
    with Journal.open(tmp_path / "home") as journal:
        journal.papers.add(Paper("Later"))
        aside = copies.restore(tmp_path / "home", tmp_path / "backup.sqlite3")
        assert "Later" not in journal.papers, "a journal that was open meanwhile sees what was restored"
    assert aside is not None
    assert aside.is_file()
    assert read_all(tmp_path / "home") == 8
    assert all(check.ok for check in checks(tmp_path / "elsewhere") if check.name != "disk space")
    copies.backup(tmp_path / "elsewhere", tmp_path / "again.sqlite3")


def test_damaged_stored_files_are_left_out_of_a_backup_and_told_of(tmp_path: Path) -> None:
    filled(tmp_path / "home", papers=3)
    assert copies.backup(tmp_path / "home", tmp_path / "backup.sqlite3") == ()
    with Journal.open(tmp_path / "home") as journal:
        journal.conditions.add(dataclasses.replace(a_condition("Whole"), profile=b"whole"))
        journal.displays.add(Display("screen", b"lost", "A screen"))
        profiles = (a_condition().profile, b"lost", b"nobody's")
        used, lost, unused = (journal.store.put(profile) for profile in profiles)
        kept = set(journal.store) - {used, lost, unused}
        for sha256 in (used, unused):
            journal.store.path_of(sha256).write_bytes(b"damaged")
        journal.store.path_of(lost).unlink()
    told = copies.backup(tmp_path / "home", tmp_path / "backup.sqlite3", overwrite=True)
    assert len(told) == 3
    for sha256, owner in ((used, "the profile of the condition"), (lost, "of the display screen"), (unused, "nothing")):
        assert any(sha256[:12] in sentence and owner in sentence for sentence in told)
    copies.restore(tmp_path / "elsewhere", tmp_path / "backup.sqlite3")
    with Journal.open(tmp_path / "elsewhere") as journal:
        assert set(journal.store) == kept
        assert journal.conditions.get("Whole").profile == b"whole"
        with pytest.raises(InputError, match="is missing from"):
            journal.conditions.get(a_condition().name)


def test_restore_mends_a_damaged_journal_and_keeps_the_old_bytes(tmp_path: Path) -> None:
    path = filled(tmp_path / "home", papers=3)
    copies.backup(tmp_path / "home", tmp_path / "backup.sqlite3")
    path.write_bytes(b"coffee" * 1000)
    aside = copies.restore(tmp_path / "home", tmp_path / "backup.sqlite3")
    assert aside is not None
    assert aside.read_bytes() == b"coffee" * 1000
    assert read_all(tmp_path / "home") == 8


def test_restore_from_a_damaged_backup_touches_nothing(tmp_path: Path) -> None:
    filled(tmp_path / "home", papers=3)
    copies.backup(tmp_path / "home", tmp_path / "backup.sqlite3")
    good = (tmp_path / "backup.sqlite3").read_bytes()
    place = good.index(b"profile bytes")
    for bad in (b"", b"junk" * 999, good[: len(good) // 2], good[:place] + b"P" + good[place + 1 :]):
        (tmp_path / "bad").write_bytes(bad)
        with pytest.raises(WallworthyError, match="damaged"):
            copies.restore(tmp_path / "home", tmp_path / "bad")
    with pytest.raises(InputError, match="no journal"):
        copies.restore(tmp_path / "home", tmp_path / "missing")
    assert read_all(tmp_path / "home") == 8
    assert [path.name for path in (tmp_path / "home").glob("journal-replaced*")] == []


@pytest.mark.parametrize(
    "planted",
    [
        "CREATE TRIGGER quiet AFTER INSERT ON papers BEGIN DELETE FROM lights; END",
        "CREATE VIEW looked AS SELECT * FROM papers",
        # Under the name of one of ours, doing something else.
        "DROP TRIGGER events_are_not_changed; CREATE TRIGGER events_are_not_changed BEFORE UPDATE ON events"
        " BEGIN DELETE FROM lights; END",
    ],
)
def test_a_backup_with_something_that_acts_by_itself_is_refused(tmp_path: Path, planted: str) -> None:
    filled(tmp_path / "home", papers=3)
    copies.backup(tmp_path / "home", tmp_path / "backup.sqlite3")
    with sqlite3.connect(tmp_path / "backup.sqlite3") as connection:
        connection.executescript(planted)
    connection.close()
    with pytest.raises(InputError, match="is not a Wallworthy journal"):
        copies.restore(tmp_path / "home", tmp_path / "backup.sqlite3")
    assert read_all(tmp_path / "home") == 8


def test_no_file_s_own_schema_is_trusted(tmp_path: Path) -> None:
    database = Database(tmp_path / FILE_NAME)
    assert database.rows("PRAGMA trusted_schema")[0][0] == 0
    database.close()
