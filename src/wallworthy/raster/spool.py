"""Canvases for pictures that must be held whole: memory while they are small, a temporary file above that."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import DTypeLike, NDArray

from wallworthy.base.files import disk_trouble

MEMORY_LIMIT_BYTES: Final = 256 << 20


def canvas(shape: tuple[int, ...], dtype: DTypeLike, *, limit_bytes: int = MEMORY_LIMIT_BYTES) -> NDArray[Any]:
    """An empty array; above the limit it lies in a temporary file that is gone with the array.

    The file's room is reserved first, so that a full disk raises TroubleError instead of ending the program.
    """
    kind = np.dtype(dtype)
    size = int(np.prod(shape, dtype=np.int64)) * kind.itemsize
    if size <= limit_bytes:
        return np.empty(shape, dtype=kind)
    folder = Path(tempfile.gettempdir())
    try:
        with tempfile.TemporaryFile(dir=folder) as file:
            if hasattr(os, "posix_fallocate"):
                os.posix_fallocate(file.fileno(), 0, size)
            return np.memmap(file, dtype=kind, mode="r+", shape=shape)
    except OSError as error:
        raise disk_trouble(error, folder / "a temporary picture") from error
