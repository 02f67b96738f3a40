"""Pictures for tests, written by other libraries than the one that reads them."""

from __future__ import annotations

import io
import struct
import zlib
from functools import cache
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import pillow_heif
import tifffile
from numpy.typing import NDArray
from PIL import Image

from wallworthy.icc.standard import srgb_profile
from wallworthy.raster.read import inspect, read_strips

Samples = NDArray[Any]


def scene(rows: int, columns: int, channels: int = 3, dtype: Any = np.uint8, seed: int = 1) -> Samples:
    """A picture with no symmetry: slopes and some noise."""
    noise = np.random.default_rng(seed).random((rows, columns, channels)) * 0.2
    row, column = np.mgrid[0:rows, 0:columns]
    slopes = [row / rows, column / columns, (row + 2 * column) / (rows + 2 * columns), 1 - row / rows]
    share = np.stack([slopes[n % 4] for n in range(channels)], axis=-1) * 0.8 + noise
    top = 1 if np.dtype(dtype).kind == "f" else np.iinfo(dtype).max
    return (share * top).astype(dtype)


def all_of(path: Path, rows: int = 17, crop: tuple[int, int, int, int] | None = None) -> Samples:
    """The whole picture as the product reads it."""
    return np.concatenate(list(read_strips(inspect(path), rows, crop)))


def exif(orientation: int = 1, *, colour_space: int | None = None, more: bool = False) -> bytes:
    """An EXIF block with an orientation; `more` adds camera, exposure, date and lens."""
    first: list[tuple[int, int, int, bytes]] = [(274, 3, 1, struct.pack("<HH", orientation, 0))]
    second: list[tuple[int, int, int, bytes]] = []
    if more:
        first += [(271, 2, 6, b"Acme\0\0"), (272, 2, 8, b"Box One\0")]
        first += [(282, 5, 1, struct.pack("<II", 300, 1)), (296, 3, 1, struct.pack("<HH", 2, 0))]
        second += [(33434, 5, 1, struct.pack("<II", 1, 250)), (33437, 5, 1, struct.pack("<II", 28, 10))]
        second += [(34855, 3, 1, struct.pack("<HH", 400, 0)), (36867, 2, 20, b"2026:05:01 18:30:00\0")]
        second += [(36881, 2, 7, b"+02:00\0"), (37386, 5, 1, struct.pack("<II", 35, 1)), (42036, 2, 8, b"Lens 35\0")]
    if colour_space is not None:
        second.append((40961, 3, 1, struct.pack("<HH", colour_space, 0)))
    if second:
        first.append((34665, 4, 1, b"SUB!"))
    body = _ifd(sorted(first), 8)
    if second:
        body = body.replace(b"SUB!", struct.pack("<I", 8 + len(body))) + _ifd(sorted(second), 8 + len(body))
    return b"Exif\0\0II*\0\x08\0\0\0" + body


def _ifd(entries: list[tuple[int, int, int, bytes]], at: int) -> bytes:
    table, tail = struct.pack("<H", len(entries)), b""
    beyond = at + 2 + 12 * len(entries) + 4
    for tag, kind, count, value in entries:
        if len(value) <= 4:
            field = value.ljust(4, b"\0")
        else:
            field = struct.pack("<I", beyond + len(tail))
            tail += value + b"\0" * (len(value) % 2)
        table += struct.pack("<HHI", tag, kind, count) + field
    return table + bytes(4) + tail


def png(width: int, height: int, depth: int, kind: int, data: bytes, *chunks: tuple[bytes, bytes]) -> bytes:
    """A PNG from its parts; `data` is not yet compressed."""
    head = struct.pack(">IIBBBBB", width, height, depth, kind, 0, 0, 0)
    parts = [(b"IHDR", head), *chunks, (b"IDAT", zlib.compress(data)), (b"IEND", b"")]
    body = b"".join(
        struct.pack(">I", len(value)) + name + value + struct.pack(">I", zlib.crc32(name + value))
        for name, value in parts
    )
    return b"\x89PNG\r\n\x1a\n" + body


@cache
def small_files() -> dict[str, bytes]:
    """One small picture in each format, each with an sRGB profile or name where the writer can."""
    picture = scene(40, 56)
    image = Image.fromarray(picture)
    icc = srgb_profile()
    files: dict[str, bytes] = {}
    for name, form, options in (
        ("p.png", "PNG", {}),
        ("b.jpg", "JPEG", {"quality": 90}),
        ("g.jpg", "JPEG", {"quality": 90, "progressive": True}),
        ("w.webp", "WEBP", {"lossless": True}),
        ("v.webp", "WEBP", {"quality": 80}),
    ):
        memory = io.BytesIO()
        image.save(memory, form, icc_profile=icc, exif=exif(1, more=True), **options)
        files[name] = memory.getvalue()
    for name, options in (
        ("t.tif", {}),
        ("l.tif", {"compression": "lzw", "predictor": True, "rowsperstrip": 8}),
        ("d.tif", {"compression": "deflate", "tile": (16, 16), "bigtiff": True}),
        ("z.tif", {"compression": "zstd", "planarconfig": "separate", "rowsperstrip": 8}),
        ("j.tif", {"compression": "jpeg", "tile": (16, 16)}),
    ):
        memory = io.BytesIO()
        stored = picture.transpose(2, 0, 1) if options.get("planarconfig") else picture
        tifffile.imwrite(memory, stored, photometric="rgb", iccprofile=icc, **options)
        files[name] = memory.getvalue()
    files["x.jxl"] = bytes(imagecodecs.jpegxl_encode(picture, lossless=True))
    files["a.avif"] = bytes(imagecodecs.avif_encode(picture, level=80))
    memory = io.BytesIO()
    pillow_heif.from_bytes("RGB", (56, 40), picture.tobytes()).save(memory, quality=80)
    files["h.heic"] = memory.getvalue()
    return files
