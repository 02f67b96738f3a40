"""Names that a process holds while it works: let go of when it ends, however it ends.

A name is a small file with the operating system's lock on it (flock), which a killed process does not keep.
On a disk that has no locks names are given to everybody, and what was held is taken to be held still.
"""

from __future__ import annotations

import fcntl
import os
from collections.abc import Generator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from wallworthy.base.files import disk_trouble, make_folder

HELD: Final = "held"
"""The home's folder of such files."""


@contextmanager
def holding(path: Path) -> Generator[bool]:
    """Hold a name while the block runs; False when another holds it. Its file is there as long as it is held.

    Raises TroubleError for the disk.
    """
    make_folder(path.parent)
    try:
        handle = _taken(path)
    except OSError as error:
        raise disk_trouble(error, path) from error
    if handle is None:
        yield False
        return
    try:
        yield True
    finally:
        with suppress(OSError):
            path.unlink()
        os.close(handle)


def cleared(path: Path) -> bool:
    """Whether nobody holds the name any more; what a killed process left of it is removed then."""
    try:
        handle = os.open(path, os.O_RDWR)
    except FileNotFoundError:
        return True
    except OSError:
        return False
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        path.unlink(missing_ok=True)
    except OSError:
        return False
    finally:
        os.close(handle)
    return True


def _taken(path: Path) -> int | None:
    """The locked file; None when another has locked it. One removed before it was locked is made again."""
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(handle)
            return None
        except OSError:
            return handle
        if _is_at(handle, path):
            return handle
        os.close(handle)


def _is_at(handle: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except FileNotFoundError:
        return False
