"""The command line: a thin face on journey."""

from __future__ import annotations

import gc
import os
from typing import Final

NEW_OBJECTS: Final = 50_000
"""Between two searches for forgotten cycles; Python's own 700 searches a hundred times while modules are loaded."""

KEPT: Final = {"M_ARENA_MAX": (-8, 1), "M_MMAP_THRESHOLD": (-3, 32 << 20), "M_TRIM_THRESHOLD": (-1, 256 << 20)}
"""By number and value, what the C library is told (mallopt(3)): one store for all threads, whose strips take turns;
arrays of up to 32 MB come from it; what is given back stays in it for the next strip."""


def main() -> None:
    """Entry point of the `wallworthy` command."""
    gc.set_threshold(NEW_OBJECTS)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the threads are ours: numpy's own wait for each other busily
    keep_memory()
    from wallworthy.cli.run import run

    raise SystemExit(run())


def keep_memory() -> bool:
    """Have freed memory used again rather than fetched anew; whether the C library has such a choice."""
    import ctypes

    try:
        told = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError):  # another system's
        return False
    taken = [told(number, value) for number, value in KEPT.values()]
    return 0 not in taken
