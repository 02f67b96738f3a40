"""Where everything is remembered, and files as answers name them."""

from __future__ import annotations

from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path

from platformdirs import user_data_path

from wallworthy.base.files import sha256_of
from wallworthy.base.ticket import WrittenFile
from wallworthy.journal.journal import Journal


def home_folder(given: Path | None) -> Path:
    """The home named on the command line, else the platform's folder for the user's data."""
    return given.expanduser().resolve() if given else user_data_path("wallworthy", appauthor=False)


@contextmanager
def opened(home: Path | None) -> Generator[Journal]:
    """The journal of a home, made on first use."""
    with Journal.open(home_folder(home)) as journal:
        yield journal


def written(role: str, path: Path) -> WrittenFile:
    """A file just written, with its checksum."""
    return WrittenFile(role, str(path.resolve()), sha256_of(path))
