"""How long work tells how far it is, without knowing who listens."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """Called now and then with a stage in words and the share done, 0 to 1."""

    def __call__(self, stage: str, share: float, /) -> None: ...


def silent(stage: str, share: float, /) -> None:
    """Nobody is listening."""
