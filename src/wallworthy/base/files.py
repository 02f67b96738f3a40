"""Writing so that a file is either whole or absent: write beside, flush, rename.

`barrier(name)` marks the moments at which the kill tests end the program; in ordinary life
it does nothing. The tests name a barrier in WALLWORTHY_KILL_AT.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import secrets
import shutil
import signal
import stat
import time
from collections.abc import Generator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from wallworthy.base.errors import InputError, TroubleError, WallworthyError

CHUNK = 1 << 20

_NEARLY_NOTHING: Final = 1 << 16
_NAME_KEPT: Final = 80
"""So much of a name goes into its temporary's, which must not grow too long for the disk."""

_LEFTOVER = re.compile(r"\..*\.[0-9a-f]{8}\.part(\.[^.]*)?", re.DOTALL)
_NO_HARD_LINKS: Final = {errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK, errno.EACCES}


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
    """Yield a temporary path in the target's folder; it becomes the target when the block ends well.

    The block writes and closes the temporary file; its bytes are on the disk before the name is given.
    Without `overwrite` a file that appears under that name meanwhile is left alone too.
    Raises InputError when the folder is missing or the target exists and `overwrite` is false,
    TroubleError when the disk refuses (a full disk also when a library put it in its own words).
    """
    temporary: Path | None = None
    try:
        mode = _look(target, overwrite=overwrite)
        temporary = _make_beside(target)
        yield temporary
        barrier("after-temporary-write")
        _flush(temporary, mode)
        barrier("before-rename")
        _give_name(temporary, target, overwrite=overwrite)
        _flush_folder(target.parent)
    except OSError as error:
        raise disk_trouble(error, target) from error
    except WallworthyError:
        raise
    except Exception as error:
        if temporary is not None and _disk_is_full(target.parent):
            raise disk_trouble(OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), target) from error
        raise
    finally:
        if temporary is not None:
            with suppress(OSError):
                temporary.unlink(missing_ok=True)


def write_whole(target: Path, data: bytes, *, overwrite: bool = False) -> None:
    """Write bytes to a file that is whole or absent."""
    with whole_file(target, overwrite=overwrite) as temporary:
        temporary.write_bytes(data)


def make_folder(folder: Path) -> None:
    """Make a folder and those above it, so that they outlast a power cut. TroubleError when refused."""
    try:
        missing = [folder, *folder.parents]
        missing = [each for each in missing if not each.exists()]
        for each in reversed(missing):
            each.mkdir(exist_ok=True)
            _flush_folder(each.parent)
    except OSError as error:
        raise disk_trouble(error, folder) from error


def sweep(folder: Path, *, older_than_s: float = 3600.0) -> tuple[Path, ...]:
    """Remove temporaries that a killed process left in a folder; those younger may still be in use.

    Only names of the shape whole_file gives are touched. Answers with what was removed.
    """
    swept: list[Path] = []
    if not folder.is_dir():
        return ()
    newest = time.time() - older_than_s
    for path in sorted(folder.iterdir()):
        if _LEFTOVER.fullmatch(path.name):
            with suppress(FileNotFoundError):
                facts = path.lstat()
                if stat.S_ISREG(facts.st_mode) and facts.st_mtime < newest:
                    path.unlink()
                    swept.append(path)
    return tuple(swept)


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


def _look(target: Path, *, overwrite: bool) -> int | None:
    """Whether the target may be written; the permissions of the file it replaces."""
    if not target.parent.is_dir():
        raise InputError(
            "folder_missing",
            f"The folder {target.parent} does not exist.",
            "Make the folder first, or choose another place with -o.",
            where=str(target),
        )
    if target.is_dir():
        raise InputError("target_is_folder", f"{target} is a folder.", "Give a file name.", where=str(target))
    if not os.path.lexists(target):
        return None
    if not overwrite:
        raise _exists(target)
    mode = target.lstat().st_mode
    if stat.S_ISLNK(mode):
        return None
    if not stat.S_ISREG(mode):
        raise InputError(
            "target_not_file",
            f"{target} is a device or the like, not a file.",
            "Choose another name.",
            where=str(target),
        )
    return stat.S_IMODE(mode)


def _exists(target: Path) -> InputError:
    return InputError(
        "file_exists",
        f"{target} is there already and was left alone.",
        "Choose another name, or add --force to replace it.",
        where=str(target),
    )


def _make_beside(target: Path) -> Path:
    """An empty file of a new hidden name in the target's folder, ending as the target does."""
    kept = target.name.encode()[:_NAME_KEPT].decode(errors="ignore")
    suffix = target.suffix if len(target.suffix) <= 16 else ""
    while True:
        temporary = target.parent / f".{kept}.{secrets.token_hex(4)}.part{suffix}"
        try:
            os.close(os.open(temporary, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
        except FileExistsError:
            continue
        return temporary


def _flush(temporary: Path, mode: int | None) -> None:
    """Contents and permissions on the disk, before the name is."""
    with temporary.open("rb+") as file:
        if mode is not None:
            os.fchmod(file.fileno(), mode)
        os.fsync(file.fileno())


def _give_name(temporary: Path, target: Path, *, overwrite: bool) -> None:
    """Rename; without `overwrite` by a hard link, which refuses a name that was taken meanwhile."""
    if not overwrite:
        try:
            os.link(temporary, target)
        except FileExistsError:
            raise _exists(target) from None
        except OSError as error:
            if error.errno not in _NO_HARD_LINKS:
                raise
            if os.path.lexists(target):
                raise _exists(target) from None
        else:
            temporary.unlink()
            return
    temporary.replace(target)


def _flush_folder(folder: Path) -> None:
    """The folder's list of names on the disk; some network disks can't and say EINVAL."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.EOPNOTSUPP):
            raise
    finally:
        os.close(handle)


def _disk_is_full(folder: Path) -> bool:
    try:
        return shutil.disk_usage(folder).free < _NEARLY_NOTHING
    except OSError:
        return False
