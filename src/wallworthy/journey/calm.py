"""Slow work that leaves the processors to quick work: on a thread of its own, which the system ranks lower."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import suppress
from typing import Final, TypeVar

Made = TypeVar("Made")

LOWER: Final = 10
"""Steps of rank: beside one other thread such work gets a tenth of a processor, alone all of it."""
LOWEST: Final = 19


def calmly(make: Callable[[], Made]) -> Made:
    """`make()` on a thread ranked low, as are the threads it begins; its result, its errors passed through.

    Where the system ranks processes only, it is ranked like everything else.
    """
    told: Future[Made] = Future()

    def work() -> None:
        _rank_low()
        try:
            told.set_result(make())
        except BaseException as error:
            told.set_exception(error)

    threading.Thread(target=work, name="calm", daemon=True).start()
    return told.result()


def _rank_low() -> None:
    if sys.platform != "linux":
        return
    this = threading.get_native_id()
    with suppress(OSError):
        os.setpriority(os.PRIO_PROCESS, this, min(LOWEST, os.getpriority(os.PRIO_PROCESS, this) + LOWER))
