"""Slow answers are worked on only while the browser waits for them."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from typing import Final, TypeVar

from anyio import to_thread
from fastapi import Request, Response

from wallworthy.journey.wanting import Wanted

Made = TypeVar("Made")

GONE_AWAY: Final = 499
"""Nobody hears it; a status that is not a success, for the log of whoever looks."""


async def while_waited_for(request: Request, make: Callable[[Wanted], Made]) -> Made:
    """`make` in a thread. What it is given says whether the browser still waits: a page that asks anew hangs up.

    When the server closes down, nobody waits any more either. Errors of `make` pass through.
    """
    gone = threading.Event()

    async def listen() -> None:
        while (await request.receive())["type"] != "http.disconnect":
            pass
        gone.set()

    listening = asyncio.create_task(listen())
    try:
        return await to_thread.run_sync(lambda: make(lambda: not gone.is_set()))
    finally:
        gone.set()  # the thread outlives a request that is cancelled
        listening.cancel()


def nobody_waits(_: Request, error: Exception) -> Response:
    return Response(status_code=GONE_AWAY)
