"""The content store: blobs by their SHA-256, so that a profile deleted on disk later does no harm."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from pathlib import Path

from wallworthy.base.errors import InputError, TroubleError
from wallworthy.base.files import disk_trouble, make_folder, write_whole

_SHA256 = re.compile(r"[0-9a-f]{64}")


class Store:
    """Blobs in FOLDER/ab/abcdef...; whole or absent, checked when read, shared by any number of processes."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def put(self, data: bytes) -> str:
        """Keep the bytes; their SHA-256 as 64 hex digits. Durable when this returns.

        A blob that is there and whole is left alone; one that was damaged is mended.
        """
        sha256 = hashlib.sha256(data).hexdigest()
        path = self.path_of(sha256)
        try:
            whole = path.is_file() and path.read_bytes() == data
        except OSError as error:
            raise disk_trouble(error, path) from error
        if not whole:
            make_folder(path.parent)
            write_whole(path, data, overwrite=True)
        return sha256

    def get(self, sha256: str) -> bytes:
        """The bytes. Raises InputError when they are missing or no longer what they were."""
        path = self.path_of(sha256)
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            raise InputError(
                "store_missing",
                f"The stored file {sha256[:12]} is missing from {self.folder}.",
                "Add the profile again, or restore a backup.",
                where=str(path),
            ) from None
        except OSError as error:
            raise TroubleError(
                "store_unreadable",
                f"{path} could not be read: {error.strerror or error}.",
                "See to the disk or the folder's permissions and give the same command again.",
                where=str(path),
            ) from error
        if hashlib.sha256(data).hexdigest() != sha256:
            raise InputError(
                "store_damaged",
                f"The stored file {sha256[:12]} is no longer what it was.",
                "Add the profile again, which mends it, or restore a backup.",
                where=str(path),
            )
        return data

    def __contains__(self, sha256: str) -> bool:
        return self.path_of(sha256).is_file()

    def __iter__(self) -> Iterator[str]:
        """The SHA-256 of every blob, sorted; leftovers under other names are passed over."""
        for path in sorted(self.folder.glob("??/*")):
            if _SHA256.fullmatch(path.name) and path.parent.name == path.name[:2]:
                yield path.name

    def path_of(self, sha256: str) -> Path:
        """Where a blob lies, there or not. Raises InputError for what is not a SHA-256."""
        if not _SHA256.fullmatch(sha256):
            raise InputError(
                "sha256_unclear", f"'{sha256}' is not a SHA-256.", "Give 64 hex digits.", where=str(self.folder)
            )
        return self.folder / sha256[:2] / sha256
