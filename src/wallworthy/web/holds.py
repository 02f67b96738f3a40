"""Which tab has which ticket in hand."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from wallworthy.journey.page import Hold, StageName

GONE_AFTER_S: Final = 20.0
"""A tab asks again every few seconds; one that has not for so long is closed."""


@dataclass(frozen=True, slots=True)
class _Held:
    tab: str
    since: str
    seen: float
    at: StageName | None


class Holds:
    """A ticket's holder is the tab that asked first and still asks."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._held: dict[str, _Held] = {}

    def ask(self, ticket: str, tab: str, *, take: bool = False, at: StageName | None = None) -> Hold:
        """Whether `tab`, showing the stage `at`, holds the ticket, and who does since when; `take` takes it over."""
        now = time.monotonic()
        with self._lock:
            held = self._held.get(ticket)
            if held is None or take or held.tab == tab or now - held.seen > GONE_AFTER_S:
                since = held.since if held is not None and held.tab == tab else _now()
                held = self._held[ticket] = _Held(tab, since, now, at)
            return Hold(held.tab == tab, held.since, held.at)

    def leave(self, ticket: str, tab: str) -> bool:
        """`tab` puts the ticket down, if it holds it: the next that asks has it. Whether it held it."""
        with self._lock:
            held = self._held.get(ticket)
            mine = held is not None and held.tab == tab
            if mine:
                del self._held[ticket]
            return mine


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
