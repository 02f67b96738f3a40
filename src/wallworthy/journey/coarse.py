"""Small pictures of masters kept in the home, so that a sheet is never bare while the master is read."""

from __future__ import annotations

import hashlib
import re
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from wallworthy.base.errors import InputError, WallworthyError
from wallworthy.base.files import make_folder, write_whole
from wallworthy.raster.read import inspect

COARSE: Final = "coarse"
COARSE_PX: Final = 480
"""Width of what is kept; some 40 kB."""
_SHA256: Final = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Coarse:
    """A JPEG for an sRGB screen and its size in pixels."""

    data: bytes = field(repr=False)
    width_px: int
    height_px: int


def kept_coarse(home: Path, sha256: str, told: bytes | None) -> Coarse | None:
    """What is kept of a master by the profile that was told for it, None for its file's own; or nothing yet."""
    if not _SHA256.fullmatch(sha256):
        return None
    path = _place(home, sha256, told)
    try:
        facts = inspect(path)
        return Coarse(path.read_bytes(), facts.width_px, facts.height_px)
    except (InputError, OSError):
        return None


def has_coarse(home: Path, sha256: str, told: bytes | None) -> bool:
    """Whether something is kept of a master by that profile; it is not looked into."""
    return _place(home, sha256, told).is_file()


def keep_coarse(home: Path, sha256: str, told: bytes | None, jpeg: bytes) -> None:
    """Keep a master's JPEG by that profile. A disk that refuses it is no trouble: it is made again."""
    with suppress(WallworthyError):
        make_folder(home / COARSE)
        write_whole(_place(home, sha256, told), jpeg, overwrite=True)


def _place(home: Path, sha256: str, told: bytes | None) -> Path:
    by = "" if told is None else f"-{hashlib.sha256(told).hexdigest()[:16]}"
    return home / COARSE / f"{sha256}{by}.jpg"
