"""Masters at the size of a proof, kept in the home: read when a ticket is started, they need no reading for its proofs.

What is kept is found by the master's content, so a file that changed never meets what was kept of another.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import struct
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import WallworthyError
from wallworthy.base.files import make_folder, sweep, whole_file
from wallworthy.base.records import Box, Master, Way

LONG_EDGE_PX: Final = 2560
FOLDER: Final = "reduced"
MOST: Final = 16
"""Pictures kept, the latest used; one of 2560 x 1707 pixels is 26 MB."""
ROOM: Final = 10
"""So many times what is kept must be free on the disk: it may not be the last that fits."""
EDITION: Final = 1
"""To be raised when the same master would be brought to other pixels than before."""
_HEAD: Final = struct.Struct("<32sd")
"""SHA-256 of the pixels, and the share of the master's that were clamped."""


@dataclass(frozen=True, slots=True)
class Reduced:
    """A master or the printed part of it, never enlarged: (H, W, 3) uint16 in the working encoding.

    clamped_share: of the master's pixels, 0-1, that lie outside that encoding and were moved to its edge.
    """

    codes: NDArray[np.uint16] = field(repr=False)
    clamped_share: float


def size_within(width_px: int, height_px: int, long_edge_px: int) -> tuple[int, int]:
    """Width and height in proportion with that longer edge, never enlarged.

    >>> size_within(6000, 4000, 2560)
    (2560, 1707)
    """
    shrink = min(1.0, long_edge_px / max(width_px, height_px))
    return max(1, round(width_px * shrink)), max(1, round(height_px * shrink))


def reduced(
    master: Master, crop: Box | None, way: Way, *, home: Path | None, long_edge_px: int = LONG_EDGE_PX
) -> Reduced:
    """A master at that longer edge at most: as it was kept in `home`, else read, and kept where it was made smaller.

    Raises InputError as `working_source` and its strips do.
    """
    _, _, height, width = crop or (0, 0, master.height_px, master.width_px)
    size = size_within(width, height, long_edge_px)
    place = None if home is None or size == (width, height) else home / FOLDER / _name(master, crop, way, size)
    kept = None if place is None else _kept(place, size)
    if kept is not None:
        return kept
    from wallworthy.master.source import working_source
    from wallworthy.raster.scale import scaled_codes

    source = working_source(master, crop, way)
    codes = scaled_codes(source, *size)
    found = Reduced(codes, source.clamped_share or 0.0)
    if place is not None:
        _keep(place, found)
    return found


def floats(codes: NDArray[np.uint16]) -> NDArray[np.float32]:
    """Working codes as numbers 0-1."""
    return np.divide(codes, 65535, dtype=np.float32)


def _name(master: Master, crop: Box | None, way: Way, size: tuple[int, int]) -> str:
    """Everything that decides the pixels, as one name."""
    profile = None if master.profile is None else hashlib.sha256(master.profile).hexdigest()
    said = (EDITION, master.sha256, profile, crop, way.table_intent, size)
    return f"{hashlib.sha256(repr(said).encode()).hexdigest()}.pixels"


def _kept(place: Path, size: tuple[int, int]) -> Reduced | None:
    try:
        with place.open("rb") as file:
            head = file.read(_HEAD.size)
            codes = np.fromfile(file, "<u2")
        os.utime(place)
    except OSError:
        return None
    if codes.size != size[0] * size[1] * 3:
        return None
    digest, clamped_share = _HEAD.unpack(head)
    if hashlib.sha256(codes.data).digest() != digest:
        return None
    return Reduced(codes.reshape(size[1], size[0], 3), clamped_share)


def _keep(place: Path, found: Reduced) -> None:
    """A disk that refuses is no trouble: the master is read again."""
    pixels = np.ascontiguousarray(found.codes, "<u2")
    with suppress(WallworthyError, OSError):
        make_folder(place.parent)
        sweep(place.parent)
        if shutil.disk_usage(place.parent).free < ROOM * pixels.nbytes:
            return
        with whole_file(place, overwrite=True) as temporary, temporary.open("wb") as file:
            file.write(_HEAD.pack(hashlib.sha256(pixels.data).digest(), found.clamped_share))
            file.write(pixels.data)
        latest = sorted(place.parent.glob("*.pixels"), key=lambda path: path.stat().st_mtime, reverse=True)
        for path in latest[MOST:]:
            path.unlink(missing_ok=True)
