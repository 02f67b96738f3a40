"""Work that is done only as long as somebody waits for it: the page asks anew faster than fine proofs are made."""

from __future__ import annotations

import threading
from collections.abc import Callable, Generator
from contextlib import contextmanager
from typing import Any, Final, TypeVar

Wanted = Callable[[], bool]
Array = TypeVar("Array")

LOOK_AGAIN_S: Final = 0.05
"""Waiting for its turn, work asks so often whether it is still wanted."""


class UnwantedError(Exception):
    """Nobody waits for this any more."""


def always() -> bool:
    return True


def need(wanted: Wanted) -> None:
    """Raises UnwantedError when nobody waits any more."""
    if not wanted():
        raise UnwantedError


@contextmanager
def turn(lock: threading.Lock, wanted: Wanted) -> Generator[None]:
    """Hold the lock; waiting for it ends with UnwantedError as soon as nobody wants what comes of it."""
    need(wanted)
    while not lock.acquire(timeout=LOOK_AGAIN_S):
        need(wanted)
    try:
        need(wanted)
        yield
    finally:
        lock.release()


def while_wanted(work: Callable[[Any], Array], wanted: Wanted) -> Callable[[Any], Array]:
    """`work`, which does not begin once nobody waits any more."""

    def guarded(given: Any) -> Array:
        need(wanted)
        return work(given)

    return guarded
