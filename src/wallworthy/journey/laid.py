"""A master as it was laid down: known by its content, and read in the space that was told for it."""

from __future__ import annotations

from pathlib import Path

from wallworthy.base.errors import InputError
from wallworthy.base.records import Master


def require_content(master: Master, sha256: str) -> Master:
    """The master, when it still is the picture of that content. Raises InputError."""
    if master.sha256 != sha256:
        raise InputError(
            "master_unknown",
            f"{Path(master.path).name} is another picture by now than the one that was laid down.",
            "Drop its file on the page again, as it was.",
            where=sha256,
        )
    return master
