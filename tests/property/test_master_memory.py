"""A header that claims too much takes no memory, and a large master is read in little."""

from __future__ import annotations

import struct
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
import tifffile

from support.peak import peak_of
from support.pictures import png, small_files
from wallworthy.icc.standard import wide_profile
from wallworthy.raster.read import inspect

pytestmark = [
    pytest.mark.practice,
    pytest.mark.skipif(not sys.platform.startswith("linux"), reason="peak memory is read from /proc"),
]

READ = """
import sys
from wallworthy.base.errors import InputError
from wallworthy.master.open import open_master
from wallworthy.master.source import working_source
for path in sys.argv[1:]:
    try:
        source = working_source(open_master(path))
        print(sum(len(strip) for strip in source.strips(128)), source.width_px)
    except InputError as error:
        print(error.code)
"""
EMPTY = "import wallworthy.master.source, wallworthy.master.open, pyvips, pillow_heif"


def bits(*fields: tuple[int, int]) -> bytes:
    """Fields (value, width) packed from the lowest bit up."""
    whole = at = 0
    for value, width in fields:
        whole |= value << at
        at += width
    return whole.to_bytes((at + 7) // 8 + 8, "little")


def claims(edge: int) -> dict[str, bytes]:
    """A small file of each format that claims edge x edge pixels (less where the format can't say as much)."""
    files = small_files()
    jpeg_edge = min(edge, 65_535)
    found = {"a.png": png(edge, edge, 8, 2, b"\0" * 1000), "i.png": b""}
    interlaced = struct.pack(">IIBBBBB", edge, edge, 16, 6, 0, 0, 1)
    found["i.png"] = found["a.png"][:16] + interlaced
    found["i.png"] += struct.pack(">I", zlib.crc32(found["i.png"][12:])) + found["a.png"][33:]
    for name in ("b.jpg", "g.jpg"):
        data = files[name]
        at = data.index(b"\xff\xc0" if name == "b.jpg" else b"\xff\xc2") + 5
        found[name] = data[:at] + struct.pack(">HH", jpeg_edge, jpeg_edge) + data[at + 4 :]
    for name in ("t.tif", "l.tif", "z.tif", "d.tif"):
        data = bytearray(files[name])
        with tifffile.TiffFile(files_path(data)) as opened:
            for tag in (256, 257):
                entry = opened.pages[0].tags[tag]
                struct.pack_into("<I" if entry.dtype == 4 else "<H", data, entry.valueoffset, min(edge, 65_535))
        found[name] = bytes(data)
    for name in ("a.avif", "h.heic"):
        data = files[name]
        at = data.index(b"ispe") + 8
        found[name] = data[:at] + struct.pack(">II", edge, edge) + data[at + 8 :]
    size = [(0, 1), (3, 2), (edge - 1, 30), (0, 3), (3, 2), (edge - 1, 30)]
    found["a.jxl"] = b"\xff\x0a" + bits(*size, (1, 1), (1, 1), (0, 60))
    extended = b"\0\0\0\0" + (edge - 1).to_bytes(3, "little") * 2
    body = b"WEBPVP8X" + struct.pack("<I", 10) + extended + files["w.webp"][12:]
    found["a.webp"] = b"RIFF" + struct.pack("<I", len(body)) + body
    return found


def files_path(data: bytearray) -> object:
    import io

    return io.BytesIO(bytes(data))


@pytest.mark.parametrize("edge", [60_000, 30_000])
def test_absurd_claims_take_no_memory(tmp_path: Path, edge: int) -> None:
    """60,000 x 60,000 is beyond what is read; 30,000 x 30,000 is not, but can't be in so few bytes."""
    paths: list[str] = []
    for name, data in claims(edge).items():
        (tmp_path / name).write_bytes(data)
        paths.append(str(tmp_path / name))
    floor, _ = peak_of(EMPTY)
    peak, printed = peak_of(READ, *paths)
    codes = dict(zip(claims(edge), printed.split("\n"), strict=True))
    assert set(codes.values()) <= {"master_too_large", "master_damaged", "master_truncated"}, codes
    assert codes["a.png"] == ("master_too_large" if edge == 60_000 else "master_damaged")
    assert codes["a.jxl"] == codes["a.png"]
    assert peak < floor + 60


def test_a_strip_that_unpacks_to_more_than_it_may(tmp_path: Path) -> None:
    """128 MB of zeros behind a strip of 64 x 64 pixels: unpacking stops at the strip's own size."""
    pack = zlib.compressobj(9)
    bomb = b"".join(pack.compress(bytes(1 << 20)) for _ in range(128)) + pack.flush()
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, np.zeros((64, 64, 3), np.uint8), photometric="rgb", compression="deflate")
    data = bytearray(path.read_bytes())
    with tifffile.TiffFile(path) as opened:
        for tag, value in ((273, len(data)), (279, len(bomb))):
            entry = opened.pages[0].tags[tag]
            struct.pack_into("<I" if entry.dtype == 4 else "<H", data, entry.valueoffset, value & 0xFFFF_FFFF)
    path.write_bytes(bytes(data) + bomb)
    floor, _ = peak_of(EMPTY)
    peak, printed = peak_of(READ, str(path))
    assert printed in ("master_damaged", "master_truncated")
    assert peak < floor + 60


def test_24_megapixels_of_16_bit_stream_in_little_memory(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    picture = np.zeros((4000, 6000, 3), np.uint16)
    picture[:] = np.arange(6000, dtype=np.uint16)[:, None] * 10
    tifffile.imwrite(path, picture, photometric="rgb", iccprofile=wide_profile(), rowsperstrip=4000)
    floor, _ = peak_of(EMPTY)
    peak, printed = peak_of(READ, str(path))
    assert printed == "4000 6000"
    assert peak < floor + 150
    assert peak < 400


def test_the_made_up_jpeg_xl_header_is_one(tmp_path: Path) -> None:
    (tmp_path / "a.jxl").write_bytes(claims(1000)["a.jxl"])
    facts = inspect(tmp_path / "a.jxl")
    assert (facts.width_px, facts.height_px, facts.said_space) == (1000, 1000, "srgb")
