"""Strips on their way: re-cut, read ahead, worked on in order by a few threads.

Everything here holds only a few strips at a time. An error raised where strips are made comes
out as itself where they are taken, whatever thread it happened in.
"""

from __future__ import annotations

import contextlib
import queue
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any, Final, TypeVar

import numpy as np
from numpy.typing import NDArray

Strip = NDArray[Any]
"""Rows of a picture, shape (rows, width, channels)."""

In = TypeVar("In")
Out = TypeVar("Out")

WORKERS: Final = 2


def rows_for(width_px: int) -> int:
    """A strip height of about half a million pixels: 16 to 256 rows, by the width alone.

    >>> rows_for(17717), rows_for(2560)
    (29, 204)
    """
    return max(16, min(256, (1 << 19) // max(1, width_px)))


def rechunk(strips: Iterable[Strip], rows: int) -> Iterator[Strip]:
    """The same rows in strips of `rows` (the last may be shorter)."""
    held: list[Strip] = []
    count = 0
    for strip in strips:
        held.append(strip)
        count += strip.shape[0]
        while count >= rows:
            joined = held[0] if len(held) == 1 else np.concatenate(held)
            yield joined[:rows]
            count -= rows
            held = [joined[rows:]] if count else []
    if count:
        yield held[0] if len(held) == 1 else np.concatenate(held)


def windows(strips: Iterable[Strip], halo: int) -> Iterator[tuple[int, Strip]]:
    """Each strip with `halo` more rows above and below, as (its first row, the window).

    Beyond the picture its outermost row is repeated. Every strip but the last needs at least
    `halo` rows; with a halo of 0 the strips pass unchanged.
    """
    first = 0
    above: Strip | None = None
    held: Strip | None = None
    for strip in strips:
        if held is not None:
            below = strip[:halo]
            yield first, _window(above, held, below, halo)
            first += held.shape[0]
            above = held[held.shape[0] - halo :]
        held = strip
    if held is not None:
        yield first, _window(above, held, None, halo)


def _window(above: Strip | None, strip: Strip, below: Strip | None, halo: int) -> Strip:
    if halo == 0:
        return strip
    top = np.repeat(strip[:1], halo, axis=0) if above is None else above
    bottom = strip[:0] if below is None else below
    last = (bottom if bottom.shape[0] else strip)[-1:]
    return np.concatenate([top, strip, bottom, np.repeat(last, halo - bottom.shape[0], axis=0)])


def prefetched(items: Iterable[Out], ahead: int = 2) -> Generator[Out]:
    """The same items, made by a thread that runs up to `ahead` items in front."""
    done = object()
    waiting: queue.Queue[Any] = queue.Queue(maxsize=ahead)
    stop = threading.Event()

    def put(item: Any) -> None:
        while not stop.is_set():
            with contextlib.suppress(queue.Full):
                waiting.put(item, timeout=0.1)
                return

    def work() -> None:
        try:
            for item in items:
                put(item)
                if stop.is_set():
                    return
            put(done)
        except BaseException as error:
            put(_Failure(error))

    thread = threading.Thread(target=work, name="wallworthy-ahead", daemon=True)
    thread.start()
    try:
        while (item := waiting.get()) is not done:
            if isinstance(item, _Failure):
                raise item.error
            yield item
    finally:
        stop.set()
        thread.join()


class _Failure:
    def __init__(self, error: BaseException) -> None:
        self.error = error


def ordered_map(
    function: Callable[[In], Out], items: Iterable[In], *, workers: int = WORKERS, ahead: int = WORKERS + 1
) -> Generator[Out]:
    """`function` of each item, in order, by `workers` threads with at most `ahead` results under way."""
    pool = ThreadPoolExecutor(workers, thread_name_prefix="wallworthy-strip")
    pending: deque[Future[Out]] = deque()
    try:
        for item in items:
            pending.append(pool.submit(function, item))
            if len(pending) >= ahead:
                yield pending.popleft().result()
        while pending:
            yield pending.popleft().result()
    finally:
        for future in pending:
            future.cancel()
        pool.shutdown(wait=True)
