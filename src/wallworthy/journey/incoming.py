"""Files the page takes in: they land beside their place, are checked, and are kept whole or not at all."""

from __future__ import annotations

import hashlib
import os
import re
import secrets
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from wallworthy.base.files import disk_trouble, make_folder, sweep
from wallworthy.icc.standard import display_p3_profile, srgb_profile
from wallworthy.journey.page import MasterFacts, ProfileUpload

LARGEST_MASTER: Final = 4 << 30
LARGEST_PROFILES: Final = 512 << 20
LARGEST_SCAN: Final = 1 << 30

MASTERS: Final = "masters"
UPLOADS: Final = "uploads"
SPACES: Final = {"srgb": srgb_profile, "display-p3": display_p3_profile}
KEPT_S: Final = 7 * 86400.0
"""Uploaded profiles and scans are of no use after so long: what was taken in of them is in the store."""

_SUFFIX: Final = re.compile(r"\.[A-Za-z0-9]{1,8}")


class Landing:
    """A file on its way in, hidden until it is whole; a block that is left by an error leaves nothing."""

    def __init__(self, home: Path, at_most: int) -> None:
        self._folder = home / UPLOADS
        self._at_most = at_most
        self._path = self._folder / f".landing.{secrets.token_hex(4)}.part"
        self._digest = hashlib.sha256()
        self.size = 0

    def __enter__(self) -> Self:
        make_folder(self._folder)
        sweep(self._folder)
        try:
            self._file = self._path.open("xb")
        except OSError as error:
            raise disk_trouble(error, self._path) from error
        return self

    def write(self, data: bytes) -> None:
        """The next bytes. TroubleError when the disk refuses."""
        self._digest.update(data)
        self.size += len(data)
        try:
            self._file.write(data)
        except OSError as error:
            raise disk_trouble(error, self._path) from error

    def finished(self) -> Path:
        """The file, its bytes on the disk; move it, or it goes when the block ends."""
        try:
            self._file.flush()
            os.fsync(self._file.fileno())
            self._file.close()
        except OSError as error:
            raise disk_trouble(error, self._path) from error
        return self._path

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        with suppress(OSError):
            self._file.close()
        self._path.unlink(missing_ok=True)


def keep_master(home: Path, landed: Path, name: str) -> MasterFacts:
    """Keep a landed master under its content's name. Raises InputError for what is no picture or is damaged."""
    raise NotImplementedError


def master_facts(home: Path, sha256: str) -> MasterFacts:
    raise NotImplementedError


def keep_profiles(home: Path, landed: Path, name: str) -> ProfileUpload:
    raise NotImplementedError


def keep_scan(home: Path, landed: Path, name: str) -> str:
    raise NotImplementedError
