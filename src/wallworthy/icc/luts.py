"""Lookup table tags: lut8 'mft1', lut16 'mft2', lutAToB 'mAB ' and lutBToA 'mBA '.

ICC.1:2022 sections 10.10 to 10.13. A tag becomes the stages it applies, in their order, each on
values 0-1, with the encodings of its two ends; enough for an evaluation that shares nothing with
the colour engine.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from wallworthy.icc.curves import MOST_ENTRIES, Curve, TableCurve, read_curve
from wallworthy.icc.span import Span, damaged

Array = NDArray[np.float64]


class Encoding(StrEnum):
    """What 0-1 stands for at an end of a table."""

    DEVICE = "device"
    LAB = "lab"
    """L* = 100 v, a* = 255 v - 128: lut8 (ICC.1:2022 table 39) and the PCS of v4 tables (table 12)."""
    LAB_LEGACY = "lab-legacy"
    """16-bit FF00h is L* 100 and 8000h a* 0: every lut16, in v4 files too (ICC.1:2022 section 10.10)."""
    XYZ = "xyz"
    """u1Fixed15: 8000h is 1.0 (ICC.1:2022 table 11)."""


@dataclass(frozen=True, slots=True)
class Curves:
    curves: tuple[Curve, ...]


@dataclass(frozen=True, slots=True)
class Matrix:
    """out = matrix @ in + offset; (3, 3) and (3,)."""

    matrix: Array
    offset: Array


@dataclass(frozen=True, slots=True)
class Clut:
    """Nodes (g1, ..., gn, outputs), 0-1; the first input varies slowest."""

    nodes: Array


Stage = Curves | Matrix | Clut


@dataclass(frozen=True, slots=True)
class LutTag:
    """A parsed table: `stages` in the order they are applied."""

    signature: str
    kind: str
    inputs: int
    outputs: int
    stages: tuple[Stage, ...]
    input_encoding: Encoding
    output_encoding: Encoding

    @property
    def clut(self) -> Array | None:
        """The grid of nodes, or None for a table of curves and matrix only."""
        return next((stage.nodes for stage in self.stages if isinstance(stage, Clut)), None)


def read_lut_span(span: Span, signature: str, ends: tuple[str, str], channels: tuple[int, int]) -> LutTag:
    """Parse the table in `span`. `ends` are the colour spaces ('CMYK', 'LAB' ...) before and after it.

    Raises InputError when the type is unknown, the channels don't fit the profile, or the bytes
    don't hold what the table claims.
    """
    kind = span.bytes(0, 4).decode("latin-1").strip()
    readers = {"mft1": _mft, "mft2": _mft, "mAB": _mab, "mBA": _mab}
    if kind not in readers:
        raise damaged(span.origin, f"{span.what} is of a type that tables don't have ('{_plain(kind)}')")
    inputs, outputs = span.u8(8), span.u8(9)
    if (inputs, outputs) != channels:
        reason = f"goes from {inputs} to {outputs} channels where the header asks for {channels[0]} to {channels[1]}"
        raise damaged(span.origin, f"{span.what} {reason}")
    stages = readers[kind](span, kind, inputs, outputs)
    before, after = (_encoding(space, kind) for space in ends)
    return LutTag(signature, kind, inputs, outputs, stages, before, after)


def _encoding(space: str, kind: str) -> Encoding:
    if space == "LAB":
        return Encoding.LAB_LEGACY if kind == "mft2" else Encoding.LAB
    return Encoding.XYZ if space == "XYZ" else Encoding.DEVICE


def _plain(text: str) -> str:
    return "".join(letter if letter.isalnum() and letter.isascii() else "?" for letter in text)


def _mft(span: Span, kind: str, inputs: int, outputs: int) -> tuple[Stage, ...]:
    """lut8 and lut16: matrix, input curves, grid, output curves."""
    grid = span.u8(10)
    width = 1 if kind == "mft1" else 2
    before, after, at = (256, 256, 48) if width == 1 else (span.u16(48), span.u16(50), 52)
    for entries in (before, after):
        if not 2 <= entries <= MOST_ENTRIES:
            raise damaged(span.origin, f"{span.what} has curves of {entries} samples, which can't be")
    matrix = np.array(span.s15(12, 9)).reshape(3, 3)
    curves_in, at = _tables(span, at, inputs, before, width)
    nodes, at = _grid(span, at, (grid,) * inputs, outputs, width)
    curves_out, _ = _tables(span, at, outputs, after, width)
    stages: list[Stage] = []
    if inputs == 3 and not np.array_equal(matrix, np.eye(3)):
        stages.append(Matrix(matrix, np.zeros(3)))
    return (*stages, curves_in, Clut(nodes), curves_out)


def _tables(span: Span, at: int, channels: int, entries: int, width: int) -> tuple[Curves, int]:
    values = span.integers(at, channels * entries, width).reshape(channels, entries)
    return Curves(tuple(TableCurve(row) for row in values)), at + channels * entries * width


def _grid(span: Span, at: int, grid: tuple[int, ...], outputs: int, width: int) -> tuple[Array, int]:
    if any(points < 2 for points in grid):
        raise damaged(span.origin, f"{span.what} has a grid of fewer than two points")
    count = outputs
    for points in grid:
        count *= points
    nodes = span.integers(at, count, width).reshape(*grid, outputs)
    return nodes, at + count * width


def _mab(span: Span, kind: str, inputs: int, outputs: int) -> tuple[Stage, ...]:
    """lutAToB: A curves, grid, M curves, matrix, B curves; lutBToA the other way round."""
    b_at, matrix_at, m_at, clut_at, a_at = (span.u32(12 + 4 * n) for n in range(5))
    to_pcs = kind == "mAB"
    device, pcs = (inputs, outputs) if to_pcs else (outputs, inputs)
    if not b_at:
        raise damaged(span.origin, f"{span.what} lacks its B curves")
    if not clut_at and inputs != outputs:
        raise damaged(span.origin, f"{span.what} changes the number of channels without a grid")
    if (matrix_at or m_at) and pcs != 3:
        raise damaged(span.origin, f"{span.what} has a matrix for other than three channels")
    stages: list[Stage] = []
    if a_at:
        stages.append(_curve_set(span, a_at, device))
    if clut_at:
        stages.append(_mab_grid(span, clut_at, inputs, outputs))
    if m_at:
        stages.append(_curve_set(span, m_at, 3))
    if matrix_at:
        stages.append(_mab_matrix(span, matrix_at))
    stages.append(_curve_set(span, b_at, pcs))
    return tuple(stages) if to_pcs else tuple(reversed(stages))


def _curve_set(span: Span, at: int, count: int) -> Curves:
    """`count` curve elements, each starting on a multiple of four bytes."""
    curves: list[Curve] = []
    for _ in range(count):
        curve, size = read_curve(span.part(at, span.what))
        curves.append(curve)
        at += (size + 3) // 4 * 4
    return Curves(tuple(curves))


def _mab_matrix(span: Span, at: int) -> Matrix:
    numbers = np.array(span.s15(at, 12))
    return Matrix(numbers[:9].reshape(3, 3), numbers[9:])


def _mab_grid(span: Span, at: int, inputs: int, outputs: int) -> Clut:
    grid = tuple(span.bytes(at, 16)[:inputs])
    width = span.u8(at + 16)
    if width not in (1, 2):
        raise damaged(span.origin, f"{span.what} has a grid of {8 * width}-bit numbers, which can't be")
    return Clut(_grid(span, at + 20, grid, outputs, width)[0])
