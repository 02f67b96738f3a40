"""Telling an answer: one JSON object on stdout, or sentences for a person."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Generator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from wallworthy.base.progress import Progress
    from wallworthy.journey.answers import Answer


@dataclass(frozen=True, slots=True)
class Settings:
    """The options before the command."""

    home: Path | None
    json: bool


def settings(context: typer.Context) -> Settings:
    found = context.find_object(Settings)
    assert found is not None
    return found


def tell(context: typer.Context, work: Callable[[], Answer]) -> None:
    """Do the work and print what it answers."""
    answer = work()
    command = context.command_path.partition(" ")[2]
    if settings(context).json:
        from wallworthy.journey.answers import as_json

        sys.stdout.write(json.dumps(as_json(answer, command), ensure_ascii=False, allow_nan=False) + "\n")
        return
    from rich.console import Console
    from rich.text import Text

    from wallworthy.cli.speak import spoken

    console = Console(highlight=False, soft_wrap=True)
    heading, *lines = spoken(answer)
    console.print(Text(heading, style="bold"))
    for line in lines:
        console.print(Text(line))
    for file in answer.files:
        console.print(Text(f"Wrote {file.path}"))
    for notice in answer.notices:
        console.print(Text(f"Note: {notice.text}", style="italic"))
    if answer.next:
        console.print(Text(f"Next: {answer.next}", style="bold"))


@contextmanager
def shown_progress(context: typer.Context) -> Generator[Progress]:
    """Progress on a terminal, silence in a pipe or with --json."""
    from wallworthy.base.progress import silent

    if settings(context).json or not sys.stderr.isatty():
        yield silent
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}"), BarColumn(), TimeRemainingColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=1.0)
        yield lambda stage, share: bar.update(task, description=stage, completed=share)
