"""A PNG file written strip by strip: each strip is compressed by itself, two at a time.

Source: W3C PNG specification (third edition): chunks, filter type 1 'Sub', iCCP, pHYs. Every strip
ends in a full flush (RFC 1951), so the joined pieces are one ordinary deflate stream.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Generator, Iterable
from typing import BinaryIO, Final

import numpy as np

from wallworthy.base.units import MM_PER_INCH
from wallworthy.raster.form import FileForm
from wallworthy.raster.stream import Strip, ordered_map, rechunk
from wallworthy.raster.tiffout import strip_rows

DEFLATE_LEVEL: Final = 1
STORED: Final = 0
SIGNATURE: Final = b"\x89PNG\r\n\x1a\n"


def write_png(file: BinaryIO, strips: Iterable[Strip], form: FileForm) -> None:
    """Write the strips (uint8 or uint16, (rows, width, 1 or 3), top to bottom) as a PNG file.

    Raises OSError when the disk refuses.
    """
    for piece in png_pieces(strips, form, DEFLATE_LEVEL):
        file.write(piece)


def png_pieces(strips: Iterable[Strip], form: FileForm, level: int) -> Generator[bytes]:
    """The bytes of the PNG file, a strip at a time."""
    colour = 2 if form.channels == 3 else 0
    header = struct.pack(">IIBBBBB", form.width_px, form.height_px, form.bits, colour, 0, 0, 0)
    yield SIGNATURE + _chunk(b"IHDR", header)
    if form.profile:
        yield _chunk(b"iCCP", b"ICC profile\0\0" + zlib.compress(form.profile, 9))
    per_metre = round(form.ppi * 1000 / MM_PER_INCH)
    yield _chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1))
    check = 1
    lead = b"\x78\x01"
    cut = rechunk(strips, strip_rows(form.width_px))
    for filtered, piece in ordered_map(lambda strip: _compressed(strip, level), cut, ahead=6):
        check = zlib.adler32(filtered, check)
        yield _chunk(b"IDAT", lead + piece)
        lead = b""
    last = b"\x03\x00"  # an empty last block; the sum follows
    yield _chunk(b"IDAT", lead + last + struct.pack(">I", check)) + _chunk(b"IEND", b"")


def _compressed(strip: Strip, level: int) -> tuple[bytes, bytes]:
    """Filtered rows and their deflate blocks, ending on a byte."""
    samples = np.ascontiguousarray(strip, dtype=strip.dtype.newbyteorder(">")).view(np.uint8)
    flat = samples.reshape(strip.shape[0], -1)
    step = strip.shape[2] * strip.dtype.itemsize
    rows = np.empty((flat.shape[0], flat.shape[1] + 1), np.uint8)
    rows[:, 0] = 1
    rows[:, 1 : 1 + step] = flat[:, :step]
    np.subtract(flat[:, step:], flat[:, :-step], out=rows[:, 1 + step :])
    filtered = rows.tobytes()
    squeeze = zlib.compressobj(level, zlib.DEFLATED, -15, 9)
    return filtered, squeeze.compress(filtered) + squeeze.flush(zlib.Z_FULL_FLUSH)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(data, zlib.crc32(kind)))
