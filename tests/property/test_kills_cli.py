"""The same from outside: whole commands killed; what a command has answered is there, and no half file.

The commands are those of the command line's contract: paper add, start, proof, final.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import random
import shutil
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image

from support.kills import Run, run_and_kill
from support.small_profiles import small_output
from wallworthy.cli.run import run
from wallworthy.journal.health import checks
from wallworthy.journal.journal import Journal

pytestmark = pytest.mark.practice

SEED = 20_260_612
MAIN = "from wallworthy.cli import main; main()"


def command(home: Path, *words: str) -> list[str]:
    return [sys.executable, "-c", MAIN, "--home", str(home), "--json", *words]


def asked(home: Path, *words: str) -> dict[str, Any]:
    """The same command line without a new process."""
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        status = run(["--home", str(home), "--json", *words])
    assert status == 0, said.getvalue()
    return json.loads(said.getvalue())


def answer_to(home: Path, *words: str) -> dict[str, Any]:
    """A command in a process of its own that is left alone: it must succeed."""
    answer = subprocess.run(command(home, *words), capture_output=True, text=True, check=False, timeout=120)
    assert answer.returncode == 0, answer.stdout + answer.stderr
    return json.loads(answer.stdout)


@pytest.fixture(scope="module")
def master(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("master") / "pier.jpg"
    rows, columns = np.mgrid[0:320, 0:480]
    picture = np.stack([rows * 255 // 320, columns * 255 // 480, (rows + columns) * 255 // 800], axis=-1)
    Image.fromarray(picture.astype(np.uint8)).save(path, quality=92)
    return path


@pytest.fixture(scope="module")
def profiles(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Small output profiles, quickly measured: one for the ticket that is started, two to come."""
    folder = tmp_path_factory.mktemp("profiles")
    contents = {"gloss": small_output(2), "matt": small_output(4), "lustre": small_output(2, "CMYK", 4)}
    for name, data in contents.items():
        (folder / f"{name}.icc").write_bytes(data)
    return {name: folder / f"{name}.icc" for name in contents}


@dataclass(frozen=True, slots=True)
class Desk:
    """Where commands are given: a home with ticket T1, a master, profiles, and a folder for what is made."""

    home: Path
    master: Path
    profiles: dict[str, Path]
    out: Path

    def words(self, kind: str, name: str, surface: str = "matt") -> list[str]:
        """A command of each kind that writes something new under `name`."""
        return {
            "paper": ["paper", "add", name, "--stock", "A4=20"],
            "start": ["start", str(self.master), "--size", "10x15cm", "--profile", str(self.profiles[surface])],
            "proof": ["proof", "T1", "-o", str(self.out / f"{name}.png"), "--lab", str(self.out / f"{name}-lab.tif")],
            "final": ["final", "T1", "-o", str(self.out / f"{name}.tif"), "--ppi", "200"],
        }[kind]


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory, master: Path, profiles: dict[str, Path]) -> Desk:
    """A desk on which ticket T1 was started."""
    folder = tmp_path_factory.mktemp("started")
    desk = Desk(folder / "home", master, profiles, folder / "out")
    assert answer_to(desk.home, *desk.words("start", "", "gloss"))["ticket"] == "T1"
    return desk


@pytest.fixture
def desk(tmp_path: Path, started: Desk) -> Desk:
    """A copy of it."""
    (tmp_path / "out").mkdir()
    return replace(started, home=shutil.copytree(started.home, tmp_path / "home"), out=tmp_path / "out")


def check_no_half_file(folder: Path) -> None:
    """Every file under its final name can be read to its end."""
    for path in folder.iterdir():
        if path.name.startswith("."):
            continue
        if path.suffix == ".png":
            with Image.open(path) as picture:
                picture.load()
        elif path.suffix == ".tif":
            assert tifffile.imread(path).size > 0
        elif path.suffix == ".json":
            assert json.loads(path.read_text("utf-8"))
        else:
            assert path.read_text("utf-8").endswith("\n"), path


def check_all_there(desk: Desk, answers: Iterable[dict[str, Any]]) -> None:
    """What was answered is on record and on disk; the home is sound; the next command works."""
    assert [check.text for check in checks(desk.home) if not check.ok and check.name != "disk space"] == []
    tickets = {entry["ticket"] for entry in asked(desk.home, "tickets")["tickets"]}
    papers = {paper["name"] for paper in asked(desk.home, "paper", "list")["papers"]}
    with Journal.open(desk.home) as journal:
        made = [*journal.proofs.list("T1"), *journal.finals.list("T1")]
    recorded = {(file.path, file.sha256) for entry in made for file in entry.files}
    assert "T1" in tickets
    for answer in answers:
        if answer["command"] == "paper add":
            assert answer["paper"]["name"] in papers
        if answer["command"] == "start":
            assert answer["ticket"] in tickets
        for file in answer["files"]:
            assert hashlib.sha256(Path(file["path"]).read_bytes()).hexdigest() == file["sha256"]
            assert (file["path"], file["sha256"]) in recorded
    check_no_half_file(desk.out)


def answers_of(ended: Run) -> list[dict[str, Any]]:
    """The command's answer if it was given whole before the end."""
    return [json.loads(line) for line in ended.acknowledged if line.startswith("{")]


@pytest.mark.parametrize(
    ("kind", "barrier"),
    [
        ("paper", "inside-transaction"),
        ("start", "after-temporary-write"),
        ("start", "before-rename"),
        ("start", "inside-transaction"),
        ("proof", "after-temporary-write"),
        ("proof", "before-rename"),
        ("proof", "inside-transaction"),
        ("final", "after-temporary-write"),
        ("final", "before-rename"),
        ("final", "inside-transaction"),
    ],
)
def test_a_command_killed_at_a_barrier(desk: Desk, kind: str, barrier: str) -> None:
    ended = run_and_kill(command(desk.home, *desk.words(kind, "first")), barrier=barrier)
    assert ended.killed, (ended.acknowledged, ended.stderr)
    assert ended.acknowledged == ()
    check_all_there(desk, [])
    if barrier != "inside-transaction":
        assert [path for path in desk.out.iterdir() if not path.name.startswith(".")] == []
    again = asked(desk.home, *desk.words(kind, "second"))
    check_all_there(desk, [again])


def killed_at_random(desk: Desk, kills: int) -> int:
    """Commands of all kinds in one home, each killed at its own moment, until so many really were; how many.

    A command that was done before its moment came shortens the time in which its kind is killed next.
    """
    clock = random.Random(SEED)
    longest_s = dict.fromkeys(("paper", "start", "proof", "final"), 3.0)
    answers: list[dict[str, Any]] = []
    killed = 0
    for moment in range(4 * kills):
        kind = ("final", "proof", "start", "paper", "final")[moment % 5]
        after_s = clock.uniform(0.05, longest_s[kind])
        words = desk.words(kind, f"n{moment}", surface="lustre" if moment % 2 else "matt")
        ended = run_and_kill(command(desk.home, *words), after_s=after_s)
        answers += answers_of(ended)
        if ended.killed:
            killed += 1
        else:
            assert ended.status == 0, (ended.acknowledged, ended.stderr)
            longest_s[kind] = max(0.1, 0.9 * after_s)
        if moment % 10 == 9:
            check_all_there(desk, answers)
        if killed == kills:
            break
    check_all_there(desk, answers)
    return killed


def test_commands_killed_at_ten_random_moments(desk: Desk) -> None:
    assert killed_at_random(desk, 10) == 10


@pytest.mark.long
@pytest.mark.timeout(3600)
def test_commands_killed_at_two_hundred_random_moments(desk: Desk) -> None:
    assert killed_at_random(desk, 200) == 200


def test_two_commands_at_once_both_answer(desk: Desk) -> None:
    words = [desk.words("paper", "one"), desk.words("start", "two")]
    processes = [subprocess.Popen(command(desk.home, *each), stdout=subprocess.PIPE, text=True) for each in words]
    said = [process.communicate(timeout=120)[0] for process in processes]
    assert [process.returncode for process in processes] == [0, 0], said
    check_all_there(desk, [json.loads(answer) for answer in said])
