"""One-dimensional curves of a profile: 'curv' (ICC.1:2022 section 10.6) and 'para' (section 10.18).

A curve takes 0-1 and gives 0-1. The same class is read, evaluated and written.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.icc.span import S15_ONE, Span, damaged

Array = NDArray[np.float64]

PARAMETER_COUNT: Final = (1, 3, 4, 5, 7)
"""How many parameters each function type 0-4 has (ICC.1:2022 table 68)."""

MOST_ENTRIES: Final = 4096
"""Samples in a curve of a lut16 table (ICC.1:2022 section 10.10)."""


@dataclass(frozen=True, slots=True)
class TableCurve:
    """Equally spaced samples over 0-1, straight lines between; (n,) of 0-1, n >= 2."""

    values: Array

    def __call__(self, x: ArrayLike) -> Array:
        x = np.asarray(x, dtype=np.float64)
        return np.interp(x, np.linspace(0.0, 1.0, len(self.values)), self.values)

    def encode(self) -> bytes:
        """The 'curv' tag element, 16 bits a sample."""
        samples = np.round(np.clip(self.values, 0, 1) * 65535).astype(">u2")
        return b"curv" + bytes(4) + struct.pack(">I", len(samples)) + samples.tobytes()


@dataclass(frozen=True, slots=True)
class GammaCurve:
    """A plain power: a 'curv' with one entry (u8Fixed8) or with none (gamma 1, the identity)."""

    gamma: float = 1.0

    def __call__(self, x: ArrayLike) -> Array:
        x = np.clip(np.asarray(x, dtype=np.float64), 0.0, 1.0)
        return x if self.gamma == 1.0 else np.power(x, self.gamma)

    def encode(self) -> bytes:
        if self.gamma == 1.0:
            return b"curv" + bytes(4) + struct.pack(">I", 0)
        return b"curv" + bytes(4) + struct.pack(">IH", 1, round(self.gamma * 256))


@dataclass(frozen=True, slots=True)
class ParametricCurve:
    """Function type 0-4 with its parameters g, a, b, c, d, e, f as far as the type has them."""

    kind: int
    parameters: tuple[float, ...]

    def __call__(self, x: ArrayLike) -> Array:
        """Evaluated as ICC.1:2022 table 68, the result held to 0-1."""
        x = np.clip(np.asarray(x, dtype=np.float64), 0.0, 1.0)
        g, a, b, c, d, e, f = self._all()
        with np.errstate(all="ignore"):
            power = np.power(np.maximum(a * x + b, 0.0), g)
        if self.kind == 0:
            y = power
        elif self.kind in (1, 2):
            edge = -b / a if a else 0.0
            y = np.where(x >= edge, power + c, c)
        elif self.kind == 3:
            y = np.where(x >= d, power, c * x)
        else:
            y = np.where(x >= d, power + e, c * x + f)
        return np.clip(np.nan_to_num(y, nan=0.0, posinf=1.0, neginf=0.0), 0.0, 1.0)

    def _all(self) -> tuple[float, float, float, float, float, float, float]:
        padded = (*self.parameters, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
        g, a, b, c, d, e, f = padded[:7]
        return g, a if self.kind else 1.0, b, c, d, e, f

    def encode(self) -> bytes:
        """The 'para' tag element."""
        numbers = [round(value * S15_ONE) for value in self.parameters]
        return b"para" + bytes(4) + struct.pack(f">HH{len(numbers)}i", self.kind, 0, *numbers)


Curve = TableCurve | GammaCurve | ParametricCurve
IDENTITY: Final = GammaCurve(1.0)


def read_curve(span: Span) -> tuple[Curve, int]:
    """A 'curv' or 'para' element at the start of `span`, and the bytes it takes.

    Raises InputError for another type, an unknown function, or a count the bytes don't hold.
    """
    kind = span.bytes(0, 4)
    if kind == b"curv":
        count = span.u32(8)
        if count == 0:
            return IDENTITY, 12
        if count == 1:
            return GammaCurve(span.u16(12) / 256.0), 14
        return TableCurve(span.integers(12, count, 2)), 12 + 2 * count
    if kind == b"para":
        function = span.u16(8)
        if function >= len(PARAMETER_COUNT):
            raise damaged(span.origin, f"{span.what} uses a curve of unknown kind {function}")
        count = PARAMETER_COUNT[function]
        return ParametricCurve(function, span.s15(12, count)), 12 + 4 * count
    raise damaged(span.origin, f"{span.what} holds something other than a curve")
