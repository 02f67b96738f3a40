"""A piece of a profile's bytes that can't be read past its end.

All numbers in a profile are big-endian (ICC.1:2022 section 4). Every read is checked against
the piece, and arrays are views of bytes that are there, so no claim inside a file takes memory.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError

S15_ONE = 65536.0


def sentence(origin: str, rest: str) -> str:
    """`origin` and what is to be said of it.

    >>> sentence("the profile", "is empty")
    'The profile is empty.'
    """
    start = f"The{origin[3:]}" if origin.startswith("the ") else origin
    return f"{start} {rest}."


def damaged(origin: str, reason: str) -> InputError:
    """The refusal of a profile whose bytes contradict themselves."""
    return InputError(
        "profile_damaged",
        sentence(origin, f"is damaged: {reason}"),
        "Copy or download the profile again, or choose another.",
        where=origin,
    )


@dataclass(frozen=True, slots=True)
class Span:
    """`size` bytes of `data` from `start`; `what` and `origin` are for the sentence of a refusal."""

    data: bytes
    start: int
    size: int
    what: str
    origin: str

    def need(self, at: int, count: int) -> int:
        """The absolute position of `at`, once `count` bytes from there are known to exist.

        Raises InputError when they don't.
        """
        if at < 0 or count < 0 or at + count > self.size or self.start + at + count > len(self.data):
            raise damaged(self.origin, f"{self.what} is shorter than it claims")
        return self.start + at

    def bytes(self, at: int, count: int) -> bytes:
        position = self.need(at, count)
        return self.data[position : position + count]

    def u8(self, at: int) -> int:
        return self.data[self.need(at, 1)]

    def u16(self, at: int) -> int:
        return int.from_bytes(self.bytes(at, 2), "big")

    def u32(self, at: int) -> int:
        return int.from_bytes(self.bytes(at, 4), "big")

    def s15(self, at: int, count: int) -> tuple[float, ...]:
        """`count` s15Fixed16Numbers (ICC.1:2022 section 4.6)."""
        return tuple(value / S15_ONE for value in struct.unpack(f">{count}i", self.bytes(at, 4 * count)))

    def integers(self, at: int, count: int, width: int) -> NDArray[np.float64]:
        """`count` unsigned integers of 1 or 2 bytes as 0-1 (divided by 255 or 65535)."""
        position = self.need(at, count * width)
        if width == 1:
            return np.frombuffer(self.data, np.uint8, count, position) / 255.0
        return np.frombuffer(self.data, ">u2", count, position) / 65535.0

    def part(self, at: int, what: str) -> Span:
        """The rest of this piece from `at` on, under another name."""
        return Span(self.data, self.need(at, 0), self.size - at, what, self.origin)
