"""The one error tree.

WallworthyError            anything the person is told in one sentence
├── UsageError    exit 2   the command was put together wrongly
├── InputError    exit 3   this input can't be used; nothing was half-written
└── TroubleError  exit 4   printer, disk or network; nothing is lost
"""

from __future__ import annotations


class WallworthyError(Exception):
    """A refusal: what is wrong (`text`), what to do (`mend`), where.

    `code` is a short stable word for scripts; `text` and `mend` are whole sentences.
    """

    exit_status = 3

    def __init__(self, code: str, text: str, mend: str, *, where: str | None = None) -> None:
        super().__init__(text)
        self.code = code
        self.text = text
        self.mend = mend
        self.where = where


class UsageError(WallworthyError):
    exit_status = 2


class InputError(WallworthyError):
    exit_status = 3


class TroubleError(WallworthyError):
    exit_status = 4
