"""The phone at the wall: a key for one ticket that expires, and its address as a QR code."""

from __future__ import annotations

import secrets
import threading
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from wallworthy.base.errors import InputError
from wallworthy.journey.page_work import PhoneKey
from wallworthy.journey.sheetview import qr_svg
from wallworthy.journey.standing import require_ticket

LASTS: Final = timedelta(hours=12)
MOST_KEYS: Final = 200


@dataclass(frozen=True, slots=True)
class _Key:
    ticket: str
    expires: datetime


class Phones:
    """Keys given out since the start. base: the page's address on the LAN, None unless that was asked for."""

    def __init__(self, base: str | None) -> None:
        self._base = base
        self._lock = threading.Lock()
        self._keys: dict[str, _Key] = {}

    @property
    def open(self) -> bool:
        return self._base is not None

    def key_for(self, home: Path, ticket: str) -> PhoneKey:
        """A new key for a ticket. Raises InputError when the page was not opened for the LAN."""
        if self._base is None:
            raise InputError(
                "lan_closed",
                "A phone can't reach this page: it was opened for this computer only.",
                "Start it with 'wallworthy open --lan', in a network you trust.",
            )
        number = require_ticket(home, ticket)
        key, expires = secrets.token_urlsafe(18), datetime.now(UTC) + LASTS
        with self._lock:
            now = datetime.now(UTC)
            self._keys = {name: kept for name, kept in self._keys.items() if kept.expires > now}
            while len(self._keys) >= MOST_KEYS:
                self._keys.pop(next(iter(self._keys)))
            self._keys[key] = _Key(number, expires)
        url = f"{self._base}/p/{key}"
        return PhoneKey(url, expires.isoformat(timespec="seconds").replace("+00:00", "Z"), qr_svg(url))

    def ticket_of(self, key: str) -> str:
        """The ticket a key is for. Raises InputError for one that is unknown or has expired."""
        with self._lock:
            kept = self._keys.get(key)
        if kept is None or kept.expires <= datetime.now(UTC):
            raise InputError(
                "key_unknown",
                "This address does not work any more.",
                "Show the code again on the computer and scan it.",
            )
        return kept.ticket
