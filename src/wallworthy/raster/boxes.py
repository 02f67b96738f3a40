"""Boxes of the ISO base media file format (ISO/IEC 14496-12) as HEIF (ISO/IEC 23008-12) uses them.

Only what must be known before a decoder is let near the pixels: whether every box lies in the
file, how large the primary picture claims to be, and which colour space it names.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import Final

from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import damaged, truncated

BOXES_LIMIT: Final = 10_000
META_LIMIT_BYTES: Final = 64 << 20

Box = tuple[bytes, bytes]
"""kind, body"""


@dataclass(frozen=True, slots=True)
class PictureBoxes:
    """What the primary picture's properties say; None where they say nothing."""

    size_px: tuple[int, int] | None
    coded: tuple[int, int] | None
    """colour primaries and transfer characteristics, ITU-T H.273"""
    profile: bytes | None
    channels: int | None
    bits: int | None


def read_boxes(file: OpenedFile) -> PictureBoxes:
    """Walk the top boxes and read the primary picture's properties. Raises InputError."""
    meta: bytes | None = None
    at = 0
    for _ in range(BOXES_LIMIT):
        if at + 8 > file.size:  # a few bytes behind the last box do no harm
            break
        kind, head, length = _box_head(file, at)
        if at + length > file.size:
            raise truncated(file.path)
        if kind == b"meta" and meta is None:
            if length > META_LIMIT_BYTES:
                raise damaged(file.path, "its description is larger than any picture's")
            meta = file.read(at + head, length - head)
        at += length
    if meta is None:
        raise damaged(file.path, "it does not say what it holds")
    try:
        return _primary(meta[4:])
    except (struct.error, IndexError, ValueError):
        raise damaged(file.path, "its description contradicts itself") from None


def _box_head(file: OpenedFile, at: int) -> tuple[bytes, int, int]:
    """kind, header length and whole length of the box at an offset."""
    head = file.read(at, 16)
    if len(head) < 8:
        raise truncated(file.path)
    length, kind = struct.unpack(">I4s", head[:8])
    if length == 1:
        if len(head) < 16:
            raise truncated(file.path)
        length, size = struct.unpack(">Q", head[8:16])[0], 16
    else:
        size = 8
        length = length or file.size - at
    if length < size:
        raise damaged(file.path, "a box has no length")
    return kind, size, length


def split(data: bytes) -> list[Box]:
    """The boxes that fill `data`. Raises ValueError when one does not fit."""
    boxes: list[Box] = []
    at = 0
    while at + 8 <= len(data) and len(boxes) < BOXES_LIMIT:
        length, kind = struct.unpack_from(">I4s", data, at)
        start = 8
        if length == 1:
            length, start = struct.unpack_from(">Q", data, at + 8)[0], 16
        length = length or len(data) - at
        if length < start or at + length > len(data):
            raise ValueError("a box does not fit")
        boxes.append((kind, data[at + start : at + length]))
        at += length
    return boxes


def _primary(meta: bytes) -> PictureBoxes:
    boxes = dict(reversed(split(meta)))
    pitm = boxes.get(b"pitm", bytes(6))
    primary = struct.unpack(">H", pitm[4:6])[0] if pitm[0] == 0 else struct.unpack(">I", pitm[4:8])[0]
    properties = split(boxes.get(b"iprp", b""))
    container = split(next((body for kind, body in properties if kind == b"ipco"), b""))
    wanted = [number for kind, body in properties if kind == b"ipma" for number in _associated(body).get(primary, ())]
    own = [container[number - 1] for number in wanted if 0 < number <= len(container)]
    size = coded = profile = channels = bits = None
    for kind, body in own:
        if kind == b"ispe":
            size = struct.unpack(">II", body[4:12])
        elif kind == b"pixi":
            channels, bits = body[4], max(body[5 : 5 + body[4]], default=0) or None
        elif kind == b"colr" and body[:4] == b"nclx":
            coded = struct.unpack(">HH", body[4:8])
        elif kind == b"colr" and body[:4] in (b"prof", b"rICC"):
            profile = body[4:]
    return PictureBoxes(size, coded, profile, channels, bits)


def _associated(body: bytes) -> dict[int, list[int]]:
    """ItemPropertyAssociation: property numbers by item."""
    version, flags = body[0], body[3]
    count, at = struct.unpack(">I", body[4:8])[0], 8
    found: dict[int, list[int]] = {}
    for _ in range(min(count, BOXES_LIMIT)):
        item, at = (
            (struct.unpack_from(">H", body, at)[0], at + 2)
            if version < 1
            else (struct.unpack_from(">I", body, at)[0], at + 4)
        )
        number, at = body[at], at + 1
        for _ in range(number):
            if flags & 1:
                value, at = struct.unpack_from(">H", body, at)[0] & 0x7FFF, at + 2
            else:
                value, at = body[at] & 0x7F, at + 1
            found.setdefault(item, []).append(value)
    return found
