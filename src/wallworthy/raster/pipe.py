"""Strips to a libvips image and back, without the whole picture in memory.

This build of libvips reads no raw samples from a pipe (its own format and raw files are mapped, and the
portable formats are left out), so strips travel to it as a PNG stream whose deflate blocks are only
stored, which costs little more than copying.
"""

from __future__ import annotations

import struct
import threading
import zlib
from collections.abc import Generator, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, Literal

import numpy as np
import pyvips  # type: ignore[import-untyped]

from wallworthy.raster.stream import Strip


@contextmanager
def piped_image(
    strips: Iterable[Strip], width_px: int, height_px: int, *, channels: Literal[1, 3], bits: Literal[8, 16]
) -> Generator[Any]:
    """A libvips image that reads the strips once, top to bottom, while it is being used.

    strips: uint8 or uint16 by `bits`, (rows, width_px, channels). If making a strip fails, that
    error leaves the `with` block in place of libvips' own.
    """
    header = struct.pack(">IIBBBBB", width_px, height_px, bits, 2 if channels == 3 else 0, 0, 0, 0)
    feed = _Feed(_stored_png(strips, header))
    source = pyvips.SourceCustom()
    source.on_read(feed.read)
    try:
        yield pyvips.Operation.call("pngload_source", source, access="sequential", fail_on="error")
    except pyvips.Error as error:
        if feed.failure is not None:
            raise feed.failure from error
        raise
    finally:
        feed.close()
    if feed.failure is not None:
        raise feed.failure


def _stored_png(strips: Iterable[Strip], header: bytes) -> Generator[bytes]:
    """The strips as a PNG that packs nothing (W3C PNG, third edition; RFC 1951, stored blocks)."""
    yield b"\x89PNG\r\n\x1a\n" + png_chunk(b"IHDR", header)
    stored = zlib.compressobj(0)
    for strip in strips:
        samples = np.ascontiguousarray(strip, dtype=strip.dtype.newbyteorder(">")).view(np.uint8)
        rows = np.pad(samples.reshape(strip.shape[0], -1), ((0, 0), (1, 0)))  # each row begins with filter 0, 'none'
        yield png_chunk(b"IDAT", stored.compress(rows.tobytes()))
    yield png_chunk(b"IDAT", stored.flush()) + png_chunk(b"IEND", b"")


def png_chunk(kind: bytes, data: bytes) -> bytes:
    """A chunk with its length and check sum (W3C PNG, third edition)."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(data, zlib.crc32(kind)))


class _Feed:
    """Hands out pieces of bytes on demand and keeps the first failure. libvips asks from a thread of its own."""

    def __init__(self, pieces: Generator[bytes]) -> None:
        self._pieces = pieces
        self._left = memoryview(b"")
        self._turn = threading.Lock()
        self._closed = False
        self.failure: BaseException | None = None

    def read(self, size: int) -> bytes:
        with self._turn:
            if self.failure is not None or self._closed:
                return b""
            try:
                while not self._left:
                    piece = next(self._pieces, None)
                    if piece is None:
                        return b""
                    self._left = memoryview(piece)
            except BaseException as error:
                self.failure = error
                return b""
            given, self._left = self._left[:size], self._left[size:]
            return bytes(given)

    def close(self) -> None:
        """End the making of strips, once libvips' thread has left it."""
        with self._turn:
            self._closed = True
            self._pieces.close()


def strips_of(image: pyvips.Image, rows: int) -> Iterator[Strip]:
    """A libvips image in strips, top to bottom, through one region (good for sequential images)."""
    kinds: dict[Any, type[np.generic]] = {"uchar": np.uint8, "ushort": np.uint16, "float": np.float32}
    dtype = kinds[image.format]
    region = pyvips.Region.new(image)
    for top in range(0, image.height, rows):
        count = min(rows, image.height - top)
        data = region.fetch(0, top, image.width, count)
        yield np.frombuffer(data, dtype=dtype).reshape(count, image.width, image.bands)
