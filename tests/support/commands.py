"""Giving commands as a person would, in this process or another, and reading the JSON they answer."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from wallworthy.cli.run import run

SCHEMAS = Path(__file__).resolve().parents[2] / "docs" / "reference" / "schemas"


@dataclass(frozen=True, slots=True)
class Told:
    """What a command answered."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one JSON object on stdout; NaN and trailing text are refused."""
        return json.loads(self.out, parse_constant=lambda name: pytest_fail(f"{name} in the answer"))


def pytest_fail(text: str) -> None:
    raise AssertionError(text)


class Teller:
    """Commands on one home; `capsys` catches what they print."""

    def __init__(self, home: Path, capsys: Any) -> None:
        self.home = home
        self.capsys = capsys

    def __call__(self, *words: str | Path) -> Told:
        """One command with --json, in this process."""
        self.capsys.readouterr()
        status = run(["--home", str(self.home), "--json", *map(str, words)])
        caught = self.capsys.readouterr()
        return Told(status, caught.out, caught.err)

    def ok(self, *words: str | Path) -> Any:
        """The answer of a command that must work, checked against its published schema."""
        told = self(*words)
        assert told.status == 0, told.out + told.err
        answer = told.json
        check_schema(answer)
        return answer

    def refused(self, *words: str | Path, status: int = 3) -> dict[str, str]:
        """The error object of a command that must refuse: one sentence, something to do, the exit code."""
        told = self(*words)
        assert told.status == status, f"exit {told.status}, not {status}: {told.out}{told.err}"
        answer = told.json
        error = answer["error"]
        assert answer["schema"] == "wallworthy/error/1"
        assert error["code"]
        assert error["text"].strip().endswith((".", ")", "'"))
        assert "\n" not in error["text"]
        assert error["mend"]
        assert "Traceback" not in told.err
        return error


def check_schema(answer: Any) -> None:
    """Hold an answer against docs/reference/schemas."""
    name = answer["schema"].split("/")[1]
    _validator(name).validate(answer)
    assert answer["next"].strip()


@cache
def _validator(name: str) -> Any:
    """The check of one published schema, which is held against its own schema first."""
    from jsonschema.validators import validator_for

    schema = json.loads((SCHEMAS / f"{name}.json").read_text())
    kind = validator_for(schema)
    kind.check_schema(schema)
    return kind(schema)


def in_process(home: Path, words: Sequence[str | Path], **environment: str) -> subprocess.CompletedProcess[str]:
    """One command in a process of its own."""
    return subprocess.run(
        [
            sys.executable,
            "-c",
            "from wallworthy.cli import main; main()",
            "--home",
            str(home),
            "--json",
            *map(str, words),
        ],
        capture_output=True,
        text=True,
        timeout=240,
        env={**os.environ, **environment},
        check=False,
    )
