"""The command line: a thin face on journey."""

from __future__ import annotations

import gc
import os
from typing import Final

NEW_OBJECTS: Final = 50_000
"""Between two searches for forgotten cycles; Python's own 700 searches a hundred times while modules are loaded."""


def main() -> None:
    """Entry point of the `wallworthy` command."""
    gc.set_threshold(NEW_OBJECTS)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the threads are ours: numpy's own wait for each other busily
    from wallworthy.cli.run import run

    raise SystemExit(run())
