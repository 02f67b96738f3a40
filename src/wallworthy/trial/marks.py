"""The machine-readable mark: what it says, how it is checked, and its modules (ISO/IEC 18004)."""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass
from typing import Final

import numpy as np
import segno
from numpy.typing import NDArray

WORD: Final = "wallworthy"
QUIET_MODULES: Final = 4
"""ISO/IEC 18004:2015 asks for a margin of four modules."""
ALPHABET: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_TEXT: Final = re.compile(r"wallworthy:([A-Za-z0-9]+)/([0-9]+)(?:/([A-H][1-9]))?\.([0-9A-Z]{2})")


@dataclass(frozen=True, slots=True)
class Mark:
    """What a mark says: the ticket, its sheet, and for separate prints the code of the one picture on it."""

    ticket: str
    sheet_no: int
    code: str | None = None


def mark_text(ticket: str, sheet_no: int, code: str | None = None) -> str:
    """The mark's text: short, without any address, closed by two check characters.

    >>> mark_text("T27", 1)
    'wallworthy:T27/1.HM'
    """
    said = f"{WORD}:{ticket}/{sheet_no}" + (f"/{code}" if code else "")
    return f"{said}.{_check(said)}"


def parse_mark(text: str) -> Mark | None:
    """What a mark's text says; None when it is not one of ours or its check characters are wrong.

    >>> parse_mark(mark_text("T27", 1, "B2"))
    Mark(ticket='T27', sheet_no=1, code='B2')
    """
    match = _TEXT.fullmatch(text.strip())
    if match is None or _check(text.strip()[:-3]) != match.group(4):
        return None
    return Mark(match.group(1), int(match.group(2)), match.group(3))


def mark_modules(text: str) -> NDArray[np.bool_]:
    """The mark's modules, (n, n), True where there is ink; without the quiet zone.

    QR code, error correction M (15 %), or better when it costs no room. Source: ISO18004.
    """
    code = segno.make_qr(text, error="m", boost_error=True)
    return np.array([[bool(module) for module in row] for row in code.matrix])


def _check(said: str) -> str:
    value = zlib.crc32(said.encode()) % 1024
    return ALPHABET[value // 32] + ALPHABET[value % 32]
