"""A picture file opened for reading only, with its stamp."""

from __future__ import annotations

import os
from collections.abc import Generator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from wallworthy.base.errors import InputError
from wallworthy.raster.facts import FileStamp


@dataclass(frozen=True, slots=True)
class OpenedFile:
    """Random access to a file that stays unwritten."""

    path: Path
    stamp: FileStamp
    descriptor: int

    @property
    def size(self) -> int:
        return self.stamp.size_bytes

    def read(self, offset: int, count: int) -> bytes:
        """Up to `count` bytes at `offset`; fewer at the end of the file, none beyond it."""
        if offset < 0 or count <= 0 or offset >= self.size:
            return b""
        pieces: list[bytes] = []
        count = min(count, self.size - offset)
        while count > 0:
            piece = os.pread(self.descriptor, count, offset)
            if not piece:
                break
            pieces.append(piece)
            offset, count = offset + len(piece), count - len(piece)
        return pieces[0] if len(pieces) == 1 else b"".join(pieces)


@contextmanager
def opened(path: Path) -> Generator[OpenedFile]:
    """Open a regular file for reading. Raises InputError when it is missing, unreadable, empty or no file."""
    try:
        if path.is_dir() or (path.exists() and not path.is_file()):
            raise InputError(
                "master_no_file", f"{path} is not a picture file.", "Name one picture file.", where=str(path)
            )
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0))
    except (FileNotFoundError, NotADirectoryError):
        raise InputError(
            "master_missing", f"There is no file {path}.", "Check the name and the folder.", where=str(path)
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(
            "master_unreadable", f"{path} can't be opened: {reason}.", "See to its permissions.", where=str(path)
        ) from None
    try:
        state = os.fstat(descriptor)
        if state.st_size == 0:
            raise InputError(
                "master_empty", f"{path.name} is empty.", "Copy it again from where it came.", where=str(path)
            )
        yield OpenedFile(path, FileStamp(state.st_size, state.st_mtime_ns, state.st_ino), descriptor)
    finally:
        os.close(descriptor)
