"""Several processes in one home at once: all their writes are kept, none waits for ever, nobody sees half."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from support import stream
from wallworthy.base.errors import TroubleError
from wallworthy.base.records import Paper
from wallworthy.journal.database import Database
from wallworthy.journal.journal import FILE_NAME, Journal
from wallworthy.journal.migrations import migrate

pytestmark = pytest.mark.practice


def start(home: Path, prefix: str, count: int) -> subprocess.Popen[str]:
    argv = [sys.executable, str(Path(stream.__file__)), str(home), prefix, str(count), "0", ""]
    return subprocess.Popen(argv, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_processes_that_begin_and_write_at_once_all_succeed(tmp_path: Path) -> None:
    """They even make the journal at the same moment, and each keeps its own and the others' writes."""
    processes = [start(tmp_path, prefix, 15) for prefix in "abcd"]
    said: list[str] = []
    for process in processes:
        out, err = process.communicate(timeout=60)
        assert process.returncode == 0, err
        said += out.split()
    assert sorted(said) == sorted(f"{prefix}.{index}" for prefix in "abcd" for index in range(15))
    with Journal.open(tmp_path) as journal:
        assert sorted(journal.papers.names()) == sorted(said)
        [ticket] = journal.tickets.list()
        assert sorted(event.detail["name"] for event in journal.tickets.events(ticket.id)) == sorted(said)
        assert len(list(journal.store)) == len(said) + 2


def test_readers_see_whole_transactions_only(tmp_path: Path) -> None:
    with Journal.open(tmp_path) as reader, Journal.open(tmp_path) as writer:
        with writer.write():
            writer.papers.add(Paper("A"))
            assert reader.papers.names() == ()
        assert reader.papers.names() == ("A",)


def test_a_writer_waits_for_the_one_before(tmp_path: Path) -> None:
    done: list[float] = []

    def hold() -> None:
        with Journal.open(tmp_path) as first, first.write():
            first.papers.add(Paper("A"))
            held.set()
            time.sleep(0.3)
            done.append(time.monotonic())

    held = threading.Event()
    thread = threading.Thread(target=hold)
    Journal.open(tmp_path).close()
    thread.start()
    held.wait(10)
    with Journal.open(tmp_path) as second:
        second.papers.add(Paper("B"))
        after = time.monotonic()
    thread.join()
    assert after >= done[0]
    with Journal.open(tmp_path) as journal:
        assert journal.papers.names() == ("A", "B")


def test_waiting_too_long_is_told(tmp_path: Path) -> None:
    with Journal.open(tmp_path) as first, first.write():
        impatient = Database(tmp_path / FILE_NAME, wait_s=0.05)
        migrate(impatient)
        with pytest.raises(TroubleError, match="Another Wallworthy") as refusal:
            impatient.change("INSERT INTO papers VALUES (1, 'a', 'A', NULL, NULL, '{}', '{}')")
        impatient.close()
    assert (refusal.value.code, refusal.value.exit_status) == ("journal_busy", 4)


def test_two_may_not_both_take_a_name(tmp_path: Path) -> None:
    outcomes: list[str] = []

    def add() -> None:
        with Journal.open(tmp_path) as journal:
            gate.wait(10)
            try:
                outcomes.append(journal.papers.add(Paper("Baryta")).name)
            except Exception as error:
                outcomes.append(str(getattr(error, "code", error)))

    gate = threading.Barrier(4)
    threads = [threading.Thread(target=add) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["Baryta", "name_taken", "name_taken", "name_taken"]


def test_acknowledged_commits_are_flushed(tmp_path: Path) -> None:
    """WAL with synchronous FULL (2) on every connection, foreign keys on."""
    Journal.open(tmp_path).close()
    database = Database(tmp_path / FILE_NAME)
    settings = {name: database.rows(f"PRAGMA {name}")[0][0] for name in ("journal_mode", "synchronous", "foreign_keys")}
    database.close()
    assert settings == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}
