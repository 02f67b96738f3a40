"""Reading a small file whole, with one sentence when it can't be."""

from __future__ import annotations

from pathlib import Path

from wallworthy.base.errors import InputError

LARGEST_PROFILE = 64 << 20


def file_bytes(path: Path, what: str) -> bytes:
    """The bytes of a file of at most 64 MiB, `what` it is in words. Raises InputError."""
    if not path.is_file():
        raise InputError("file_missing", f"There is no {what} at {path}.", "Check the path.", where=str(path))
    if path.stat().st_size > LARGEST_PROFILE:
        raise InputError(
            "file_too_large", f"{path.name} is too large to be a {what}.", "Check the path.", where=str(path)
        )
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(
            "file_unreadable", f"{path} can't be read: {error.strerror}.", "Check its permissions.", where=str(path)
        ) from error
