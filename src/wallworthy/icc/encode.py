"""Tag elements as bytes: texts, XYZ, numbers, and tables with their encodings.

Source: ICC.1:2022 section 10; 'desc' is version 2's own, ICC.1:2001-04 section 6.5.17.
"""

from __future__ import annotations

import struct
import unicodedata
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.icc.curves import IDENTITY, MOST_ENTRIES, TableCurve
from wallworthy.icc.span import S15_ONE
from wallworthy.icc.tables import FromLab, ToLab, even_nodes

Array = NDArray[np.float64]
Version = Literal[2, 4]

# Lab to 16-bit integers: what is added, then the factor (L*, a*, b*).
LAB_SHIFT: Final = np.array([0.0, 128.0, 128.0])
LEGACY_FACTOR: Final = np.array([65280 / 100, 256.0, 256.0])
"""lut16: FF00h is L* 100, 8000h is a* 0 (ICC.1:2022 section 10.10)."""
V4_FACTOR: Final = np.array([65535 / 100, 257.0, 257.0])
"""lutAToB and lutBToA: FFFFh is L* 100, 8080h is a* 0 (ICC.1:2022 section 6.3.4.2)."""
FACTORS: Final[dict[int, Array]] = {2: LEGACY_FACTOR, 4: V4_FACTOR}


def lab_to_integers(lab: ArrayLike, version: Version) -> NDArray[np.uint16]:
    """Lab (..., 3) to the 16-bit encoding of version 2 (lut16) or 4 tables, held to 0-65535.

    >>> [hex(v) for v in lab_to_integers([50.0, 127.0, -128.0], 2).tolist()]
    ['0x7f80', '0xff00', '0x0']
    """
    scaled = (np.asarray(lab, dtype=np.float64) + LAB_SHIFT) * FACTORS[version]
    return np.round(np.clip(scaled, 0, 65535)).astype(np.uint16)


def to_lab_element(table: ToLab, channels: int, version: Version) -> bytes:
    """An A2B table. Raises ValueError when the shapes don't fit `channels`."""
    clut = np.asarray(table.clut, dtype=np.float64)
    grid = _grid_of(clut, channels, 3)
    curves = _samples(table.curves, channels)
    nodes = lab_to_integers(clut, version)
    if version == 2:
        return _lut16(channels, 3, grid[0], curves, nodes, _samples(None, 3))
    return _lut_v4(b"mAB ", channels, 3, b_curves=[IDENTITY.encode()] * 3, nodes=nodes, a_curves=_tables(curves))


def from_lab_element(table: FromLab, channels: int, version: Version) -> bytes:
    """A B2A or gamut table. Raises ValueError when the shapes don't fit `channels`."""
    clut = np.asarray(table.clut, dtype=np.float64)
    grid = _grid_of(clut, 3, channels)
    nodes = table.nodes if table.nodes is not None else even_nodes(grid[0])
    codes = np.linspace(0, 65535, MOST_ENTRIES)
    curves = np.stack(
        [
            np.interp(codes / FACTORS[version][axis] - LAB_SHIFT[axis], _rising(nodes[axis], grid[axis]), steps)
            for axis, steps in enumerate(np.linspace(0.0, 1.0, size) for size in grid)
        ]
    )
    inks = np.round(np.clip(clut, 0, 1) * 65535).astype(np.uint16)
    after = _samples(table.curves, channels)
    if version == 2:
        return _lut16(3, channels, grid[0], curves, inks, after)
    return _lut_v4(b"mBA ", 3, channels, b_curves=_tables(curves), nodes=inks, a_curves=_tables(after))


def xyz_element(xyz: ArrayLike) -> bytes:
    return b"XYZ " + bytes(4) + _s15(xyz)


def numbers_element(values: ArrayLike) -> bytes:
    """s15Fixed16Array, in C order."""
    return b"sf32" + bytes(4) + _s15(values)


def text_element(text: str) -> bytes:
    """'text', 7-bit ASCII; anything else becomes '?'."""
    return b"text" + bytes(4) + text.encode("ascii", "replace") + b"\0"


def description_element(text: str) -> bytes:
    """Version 2's 'desc': ASCII (accents dropped), and the whole in UTF-16 when ASCII can't hold it."""
    ascii_text = unicodedata.normalize("NFKD", text).encode("ascii", "ignore") + b"\0"
    wide = b"" if text.isascii() else (text + "\0").encode("utf-16-be")
    return (
        b"desc"
        + bytes(4)
        + struct.pack(">I", len(ascii_text))
        + ascii_text
        + struct.pack(">II", 0, len(wide) // 2)
        + wide
        + bytes(3 + 67)
    )


def multilingual_element(text: str) -> bytes:
    """'mluc' with one English record."""
    wide = text.encode("utf-16-be")
    return b"mluc" + bytes(4) + struct.pack(">II4sII", 1, 12, b"enUS", len(wide), 28) + wide


def _s15(values: ArrayLike) -> bytes:
    return np.round(np.asarray(values, dtype=np.float64) * S15_ONE).astype(">i4").tobytes()


def _grid_of(clut: Array, inputs: int, outputs: int) -> tuple[int, ...]:
    grid = clut.shape[:-1]
    if len(grid) != inputs or clut.shape[-1] != outputs or len(set(grid)) != 1 or not 2 <= grid[0] <= 255:
        raise ValueError(f"a grid of shape {clut.shape} can't be a table of {inputs} to {outputs} channels")
    if not np.isfinite(clut).all():
        raise ValueError("a table holds numbers that are not finite")
    return grid


def _rising(nodes: ArrayLike, size: int) -> Array:
    nodes = np.asarray(nodes, dtype=np.float64)
    if nodes.shape != (size,) or not (np.diff(nodes) > 0).all():
        raise ValueError("the nodes along an axis must rise, one for each grid point")
    return nodes


def _samples(curves: ArrayLike | None, channels: int) -> Array:
    """Curves as (channels, n); straight ones of two samples for None."""
    if curves is None:
        return np.tile(np.array([0.0, 1.0]), (channels, 1))
    samples = np.asarray(curves, dtype=np.float64)
    if samples.ndim != 2 or samples.shape[0] != channels or not 2 <= samples.shape[1] <= MOST_ENTRIES:
        raise ValueError(f"curves of shape {samples.shape} can't be curves of {channels} channels")
    return samples


def _tables(samples: Array) -> list[bytes]:
    return [TableCurve(row).encode() for row in samples]


def _lut16(inputs: int, outputs: int, grid: int, before: Array, nodes: NDArray[np.uint16], after: Array) -> bytes:
    head = struct.pack(">4sIBBBB", b"mft2", 0, inputs, outputs, grid, 0) + _s15(np.eye(3))
    counts = struct.pack(">HH", before.shape[1], after.shape[1])
    return head + counts + _u16(before) + nodes.astype(">u2").tobytes() + _u16(after)


def _u16(samples: Array) -> bytes:
    return np.round(np.clip(samples, 0, 1) * 65535).astype(">u2").tobytes()


def _lut_v4(
    kind: bytes,
    inputs: int,
    outputs: int,
    *,
    b_curves: list[bytes],
    nodes: NDArray[np.uint16],
    a_curves: list[bytes],
) -> bytes:
    """lutAToB or lutBToA of B curves, grid and A curves, in that order in the bytes."""
    grid = bytes(nodes.shape[:-1]).ljust(16, b"\0") + struct.pack(">B3x", 2) + nodes.astype(">u2").tobytes()
    b_bytes, clut, a_bytes = _padded(b_curves), _padded([grid]), _padded(a_curves)
    clut_at = 32 + len(b_bytes)
    places = struct.pack(">5I", 32, 0, 0, clut_at, clut_at + len(clut))
    return struct.pack(">4sIBBH", kind, 0, inputs, outputs, 0) + places + b_bytes + clut + a_bytes


def _padded(elements: list[bytes]) -> bytes:
    return b"".join(element + bytes(-len(element) % 4) for element in elements)


def lut_b_only(kind: bytes, b_curves: list[bytes]) -> bytes:
    """lutAToB or lutBToA of B curves alone, three channels."""
    return struct.pack(">4sIBBH5I", kind, 0, 3, 3, 0, 32, 0, 0, 0, 0) + _padded(b_curves)
