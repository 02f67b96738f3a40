"""Remembering the last few results of slow work, for threads that ask for the same at once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Made = TypeVar("Made")


class Recent(Generic[Made]):
    """At most `most` results by key. The same key is made once, whoever else waits for it."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._kept: OrderedDict[Hashable, Made] = OrderedDict()
        self._making: dict[Hashable, threading.Lock] = {}

    def get(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """The result kept for the key, or `make()`, whose errors pass through and leave nothing behind."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
            making = self._making.setdefault(key, threading.Lock())
        with making:
            kept = self.peek(key)
            if kept is not None:
                return kept
            try:
                made = make()
            finally:
                with self._lock:
                    self._making.pop(key, None)
            with self._lock:
                self._kept[key] = made
                while len(self._kept) > self._most:
                    self._kept.popitem(last=False)
            return made

    def peek(self, key: Hashable) -> Made | None:
        """The result when it is there."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
            return self._kept.get(key)
