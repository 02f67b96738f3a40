"""Writing so that a file is either whole or absent: write beside, flush, rename.

`barrier(name)` marks the moments at which the kill tests end the program; in ordinary life
it does nothing. The tests name a barrier in WALLWORTHY_KILL_AT.
"""

from __future__ import annotations

import errno
import hashlib
import os
import signal
import tempfile
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path

from wallworthy.base.errors import InputError, TroubleError

CHUNK = 1 << 20


def barrier(name: str) -> None:
    """End the process as if the plug were pulled, when a test asked for it at this place."""
    if os.environ.get("WALLWORTHY_KILL_AT") == name:
        os.kill(os.getpid(), signal.SIGKILL)


def sha256_of(path: Path) -> str:
    """SHA-256 of a file's bytes, read in pieces, as 64 hex digits."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(CHUNK):
            digest.update(piece)
    return digest.hexdigest()


@contextmanager
def whole_file(target: Path, *, overwrite: bool = False) -> Generator[Path]:
    """Yield a temporary path in the target's folder; rename it to the target when the block ends well.

    The block writes and closes the temporary file. Raises InputError when the folder is missing
    or the target exists and `overwrite` is false, TroubleError when the disk refuses.
    """
    folder = target.parent
    if not folder.is_dir():
        raise InputError(
            "folder_missing",
            f"The folder {folder} does not exist.",
            "Make the folder first, or choose another place with -o.",
            where=str(target),
        )
    if target.is_dir():
        raise InputError("target_is_folder", f"{target} is a folder.", "Give a file name.", where=str(target))
    if target.exists() and not overwrite:
        raise InputError(
            "file_exists",
            f"{target} is there already and was left alone.",
            "Choose another name, or add --force to replace it.",
            where=str(target),
        )
    temporary: Path | None = None
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.name}.", suffix=f".part{target.suffix}", dir=folder)
        temporary = Path(name)
        os.close(handle)
        yield temporary
        barrier("after-temporary-write")
        with temporary.open("rb") as file:
            os.fsync(file.fileno())
        temporary.chmod(0o666 & ~_umask())
        barrier("before-rename")
        temporary.replace(target)
        _flush_folder(folder)
    except OSError as error:
        raise disk_trouble(error, target) from error
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)


def write_whole(target: Path, data: bytes, *, overwrite: bool = False) -> None:
    """Write bytes to a file that is whole or absent."""
    with whole_file(target, overwrite=overwrite) as temporary:
        temporary.write_bytes(data)


def disk_trouble(error: OSError, target: Path) -> TroubleError:
    """The sentence for an operating system error while writing."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return TroubleError(
            "disk_full",
            f"The disk is full: {target.name} was not written.",
            "Free some space and give the same command again; nothing is lost.",
            where=str(target),
        )
    return TroubleError(
        "disk_trouble",
        f"{target} could not be written: {error.strerror or error}.",
        "See to the disk or the folder's permissions and give the same command again; nothing is lost.",
        where=str(target),
    )


def _umask() -> int:
    current = os.umask(0)
    os.umask(current)
    return current


def _flush_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
