"""How long work tells how far it is, without knowing who listens."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """Called now and then with a stage in words and the share done, 0 to 1."""

    def __call__(self, stage: str, share: float, /) -> None: ...


def silent(stage: str, share: float, /) -> None:
    """Nobody is listening."""


def within(progress: Progress, start: float, end: float) -> Progress:
    """For a part of longer work: its 0 to 1 is told as `start` to `end` of the whole.

    >>> within(lambda stage, share: print(stage, share), 0.5, 0.9)("drying", 0.5)
    drying 0.7
    """

    def told(stage: str, share: float, /) -> None:
        progress(stage, start + (end - start) * share)

    return told
