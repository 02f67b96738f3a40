"""Remembering the last few results of slow work, for threads that ask for the same at once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from wallworthy.journey.wanting import Wanted, always, turn

Made = TypeVar("Made")


@dataclass(slots=True, eq=False)
class _Making:
    """A result on its way, and how many wait for it, its maker among them."""

    lock: threading.Lock = field(default_factory=threading.Lock)
    askers: int = 0


class Recent(Generic[Made]):
    """At most `most` results by key. The same key is made once, whoever else waits for it."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._kept: OrderedDict[Hashable, Made] = OrderedDict()
        self._making: dict[Hashable, _Making] = {}

    def get(self, key: Hashable, make: Callable[[], Made], wanted: Wanted = always) -> Made:
        """The result kept for the key, or `make()`, whose errors pass through and leave nothing behind.

        wanted: whether somebody still waits; while another thread makes it, UnwantedError is raised when nobody does.
        """
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
            making = self._making.setdefault(key, _Making())
            making.askers += 1
        try:
            with turn(making.lock, wanted):
                kept = self.peek(key)
                return self._keep(key, make()) if kept is None else kept
        finally:
            with self._lock:
                making.askers -= 1
                if not making.askers:
                    self._making.pop(key, None)

    def peek(self, key: Hashable) -> Made | None:
        """The result when it is there."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
            return self._kept.get(key)

    def _keep(self, key: Hashable, made: Made) -> Made:
        with self._lock:
            self._kept[key] = made
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return made
