"""Names for files that were given none: the print's own, numbered, and taken by one process at a time."""

from __future__ import annotations

import glob
import hashlib
import os
import re
from collections.abc import Callable, Generator
from contextlib import contextmanager, suppress
from pathlib import Path

from wallworthy.base.locks import HELD, holding
from wallworthy.base.ticket import Ticket

Files = Callable[[Path], tuple[Path, ...]]


def alone(name: Path) -> tuple[Path, ...]:
    """The files that go by a name, where that is one file."""
    return (name,)


@contextmanager
def own_name(
    home: Path, folder: Path, ticket: Ticket, kind: str, suffix: str, *, files: Files = alone, force: bool = False
) -> Generator[Path]:
    """`title-id-kind.suffix` in the folder, or with the first number behind that whose files are not there.

    While the block runs no other process of this home gets that name. force: the newest there is replaced instead.
    """
    stem = f"{_plain(ticket.title)}-{ticket.id}-{kind}"
    number = _newest(folder, stem, suffix) if force else 1
    while True:
        target = folder / f"{stem}{suffix if number == 1 else f'-{number}{suffix}'}"
        token = hashlib.sha256(os.fsencode(target.absolute())).hexdigest()[:16]
        with holding(home / HELD / f"name-{token}") as mine:
            if mine and (force or not any(file.exists() for file in files(target))):
                yield target
                return
        number += 1


def _plain(title: str) -> str:
    """A title as part of a file's name."""
    kept = "".join(letter if letter.isalnum() or letter in " -_." else "-" for letter in title)
    return kept.strip(" .-")[:80] or "print"


def _newest(folder: Path, stem: str, suffix: str) -> int:
    """The number of the file of that name which was written last; 1 when there is none."""
    shape = re.compile(re.escape(stem) + "(?:-([2-9]|[1-9][0-9]+))?" + re.escape(suffix))
    found = [(0, 1)]
    for path in folder.glob(f"{glob.escape(stem)}*{glob.escape(suffix)}"):
        if match := shape.fullmatch(path.name):
            with suppress(OSError):
                found.append((path.stat().st_mtime_ns, int(match[1] or 1)))
    return max(found)[1]
