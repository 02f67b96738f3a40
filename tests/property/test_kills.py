"""Killed at any moment: nothing acknowledged is lost, no half file, and the next process goes on."""

from __future__ import annotations

import hashlib
import random
import sqlite3
import sys
from collections.abc import Iterable
from pathlib import Path
from threading import Thread

import pytest

from support import stream
from support.kills import BARRIERS, Run, run_and_kill
from wallworthy.base.records import Paper
from wallworthy.journal.health import checks
from wallworthy.journal.journal import FILE_NAME, Journal

pytestmark = pytest.mark.practice

SEED = 20_260_611


def killed_stream(
    home: Path, prefix: str = "a", *, barrier: str = "", arm_after: int = 3, after_s: float | None = None
) -> Run:
    """The stream of writes, killed at a barrier or some time after its first acknowledgement."""
    argv = [sys.executable, str(Path(stream.__file__)), str(home), prefix, "100000", str(arm_after), barrier]
    return run_and_kill(argv, after_s=after_s, once_acknowledged=1)


def check_nothing_lost(home: Path, acknowledged: Iterable[str]) -> None:
    """Everything said to be done is there; everything there is whole; papers and events go together."""
    connection = sqlite3.connect(home / FILE_NAME)
    assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    connection.close()
    with Journal.open(home) as journal:
        papers = {paper.name: paper for paper in journal.papers.list()}
        noted = [event.detail["name"] for event in journal.tickets.events("T1")] if journal.tickets.list() else []
        assert sorted(papers) == sorted(noted)
        for name in acknowledged:
            assert papers[name].stock["A4"] == int(name.rpartition(".")[2])
            assert journal.store.get(hashlib.sha256(stream.blob(name)).hexdigest()) == stream.blob(name)
            assert (home / "out" / f"{name}.bin").is_file()
        journal.papers.add(Paper(f"after {len(papers)}"))
        ticket = stream.ready(journal)
        journal.tickets.note(ticket, "paper", {"name": f"after {len(papers)}"})
        for sha256 in journal.store:
            journal.store.get(sha256)
    for path in (home / "out").iterdir():
        if not path.name.startswith("."):
            assert path.read_bytes() == stream.content(path.stem), path.name
    assert [check.text for check in checks(home) if not check.ok and check.name != "disk space"] == []


@pytest.mark.parametrize("barrier", BARRIERS)
@pytest.mark.parametrize("arm_after", [0, 3])
def test_killed_at_a_barrier(tmp_path: Path, barrier: str, arm_after: int) -> None:
    run = killed_stream(tmp_path, barrier=barrier, arm_after=arm_after)
    assert run.killed, run.stderr
    assert run.acknowledged == tuple(f"a.{index}" for index in range(arm_after))
    check_nothing_lost(tmp_path, run.acknowledged)
    assert not (tmp_path / "out" / f"a.{arm_after}.bin").exists() or barrier == "inside-transaction"
    with Journal.open(tmp_path) as journal:
        assert f"a.{arm_after}" not in journal.papers


@pytest.mark.parametrize("barrier", BARRIERS)
def test_killed_at_the_very_first_write(tmp_path: Path, barrier: str) -> None:
    """The barrier is armed before the journal exists: the file's own making is interrupted."""
    argv = [sys.executable, str(Path(stream.__file__)), str(tmp_path), "a", "10", "0", ""]
    run = run_and_kill(argv, barrier=barrier)
    assert run.killed, run.stderr
    assert run.acknowledged == ()
    check_nothing_lost(tmp_path, ())


def killed_at_random(home: Path, moments: int) -> tuple[list[str], int]:
    """Streams one after the other in one home, each killed at its own moment; all that was acknowledged."""
    clock = random.Random(SEED)
    acknowledged: list[str] = []
    kills = 0
    for moment in range(moments):
        run = killed_stream(home, f"m{moment}", after_s=clock.uniform(0, 0.15))
        assert run.killed, run.stderr
        assert run.acknowledged, run.stderr
        kills += 1
        acknowledged += run.acknowledged
        if moment % 10 == 9:
            check_nothing_lost(home, acknowledged)
    return acknowledged, kills


def test_killed_at_ten_random_moments(tmp_path: Path) -> None:
    acknowledged, kills = killed_at_random(tmp_path, 10)
    assert kills == 10
    check_nothing_lost(tmp_path, acknowledged)


@pytest.mark.long
@pytest.mark.timeout(1800)
def test_killed_at_two_hundred_random_moments(tmp_path: Path) -> None:
    acknowledged, kills = killed_at_random(tmp_path, 200)
    assert kills == 200
    check_nothing_lost(tmp_path, acknowledged)


def test_a_killed_writer_does_not_stop_the_others(tmp_path: Path) -> None:
    runs: list[Run] = []
    threads = [
        Thread(target=lambda p=prefix, s=after_s: runs.append(killed_stream(tmp_path, p, after_s=s)))
        for prefix, after_s in (("a", 0.1), ("b", 0.3), ("c", 0.5))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [run.killed for run in runs] == [True] * 3, [run.stderr for run in runs]
    check_nothing_lost(tmp_path, [name for run in runs for name in run.acknowledged])


def test_the_check_notices_a_lost_write(tmp_path: Path) -> None:
    run = killed_stream(tmp_path, barrier="before-rename", arm_after=2)
    with pytest.raises(KeyError):
        check_nothing_lost(tmp_path, [*run.acknowledged, "a.2"])


def test_the_check_notices_a_half_file(tmp_path: Path) -> None:
    run = killed_stream(tmp_path, barrier="before-rename", arm_after=2)
    (tmp_path / "out" / "a.1.bin").write_bytes(stream.content("a.1")[:-1])
    with pytest.raises(AssertionError, match=r"a\.1"):
        check_nothing_lost(tmp_path, run.acknowledged)
