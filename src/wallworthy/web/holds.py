"""Which tab has which ticket in hand."""

from __future__ import annotations

import threading
import time
from datetime import UTC, datetime
from typing import Final

from wallworthy.journey.page import Hold

GONE_AFTER_S: Final = 20.0
"""A tab asks again every few seconds; one that has not for so long is closed."""


class Holds:
    """A ticket's holder is the tab that asked first and still asks."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._held: dict[str, tuple[str, str, float]] = {}

    def ask(self, ticket: str, tab: str, *, take: bool = False) -> Hold:
        """Whether `tab` holds the ticket, since when it is held; `take` takes it over."""
        now = time.monotonic()
        with self._lock:
            holder, since, seen = self._held.get(ticket, ("", "", 0.0))
            if (take or not holder or now - seen > GONE_AFTER_S) and holder != tab:
                holder, since = tab, datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
            if holder == tab:
                self._held[ticket] = (tab, since, now)
            return Hold(holder == tab, since)
