"""The header of a PNG: its chunks walked to the end (PNG third edition, W3C 2025), no pixel decoded."""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass, field
from typing import Final, Literal

from wallworthy.base.records import Notice
from wallworthy.raster.capture import ExifFacts, exif_facts
from wallworthy.raster.facts import Alpha, RasterFacts, Space
from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import check_size, check_whole, damaged, truncated, unsupported

SIGNATURE: Final = b"\x89PNG\r\n\x1a\n"
CHUNKS_LIMIT: Final = 4_000_000
PROFILE_LIMIT_BYTES: Final = 64 << 20
KEPT: Final = frozenset((b"IHDR", b"iCCP", b"sRGB", b"gAMA", b"cHRM", b"cICP", b"eXIf", b"pHYs", b"tRNS", b"acTL"))
SRGB_CHROMATICITIES: Final = (31270, 32900, 64000, 33000, 30000, 60000, 15000, 6000)

DEPTHS: Final[dict[int, tuple[int, ...]]] = {
    0: (1, 2, 4, 8, 16), 2: (8, 16), 3: (1, 2, 4, 8), 4: (8, 16), 6: (8, 16),
}  # fmt: skip


@dataclass(slots=True)
class _Chunks:
    """The chunks that matter, the first of each kind, and the count of image data bytes."""

    kept: dict[bytes, bytes] = field(default_factory=dict[bytes, bytes])
    data_bytes: int = 0


def read_png(file: OpenedFile) -> RasterFacts:
    """Facts of a PNG. Raises InputError when it is cut short, contradicts itself or claims too much."""
    chunks = _walk(file)
    head = chunks.kept.get(b"IHDR", b"")
    if len(head) != 13:
        raise damaged(file.path, "its header has the wrong length")
    width, height, depth, kind, compression, method, interlace = struct.unpack(">IIBBBBB", head)
    if depth not in DEPTHS.get(kind, ()) or compression or method or interlace > 1:
        raise damaged(file.path, "its header contradicts itself")
    check_size(file.path, width, height, file.size)
    space: Space = "GRAY" if kind in (0, 4) else "RGB"
    alpha: Alpha = "straight" if kind in (4, 6) or b"tRNS" in chunks.kept else "none"
    bits = 16 if depth == 16 else 8
    if interlace:
        channels = (3 if space == "RGB" else 1) + (alpha != "none")
        check_whole(file.path, width * height * channels * bits // 8, "an interlaced PNG")
    notices = [Notice("first_picture", "The PNG is an animation; its still picture is used.")]
    exif = exif_facts(chunks.kept.get(b"eXIf", b""))
    icc = _profile(file, chunks.kept)
    return RasterFacts(
        path=file.path,
        format="PNG",
        width_px=height if exif.orientation >= 5 else width,
        height_px=width if exif.orientation >= 5 else height,
        orientation=exif.orientation,
        bits=bits,
        floating=False,
        space=space,
        alpha=alpha,
        icc=icc,
        said_space=_said(file, chunks.kept, exif) if icc is None else None,
        capture=_with_resolution(exif.capture, chunks.kept.get(b"pHYs", b"")),
        notices=tuple(notices) if b"acTL" in chunks.kept else (),
        stamp=file.stamp,
        whole=bool(interlace),
    )


def _walk(file: OpenedFile) -> _Chunks:
    """Step from chunk to chunk up to IEND; CRC is left to the decoder, except for the chunks kept."""
    chunks = _Chunks()
    at = len(SIGNATURE)
    for _ in range(CHUNKS_LIMIT):
        head = file.read(at, 8)
        if len(head) < 8:
            raise truncated(file.path)
        length, kind = struct.unpack(">I4s", head)
        if at + 12 + length > file.size:
            raise truncated(file.path)
        if kind == b"IEND":
            if not chunks.data_bytes:
                raise damaged(file.path, "it holds no pixels")
            return chunks
        if kind == b"IDAT":
            chunks.data_bytes += length
        elif kind in KEPT and kind not in chunks.kept and length <= PROFILE_LIMIT_BYTES:
            body = file.read(at + 8, length + 4)
            if zlib.crc32(kind + body[:-4]) != int.from_bytes(body[-4:], "big"):
                raise damaged(file.path, "a checksum in its header is wrong")
            chunks.kept[kind] = body[:-4]
        at += 12 + length
    raise damaged(file.path, "it has more pieces than a picture needs")


def _profile(file: OpenedFile, kept: dict[bytes, bytes]) -> bytes | None:
    chunk = kept.get(b"iCCP")
    if chunk is None:
        return None
    name, _, rest = chunk.partition(b"\0")
    if len(name) > 79 or not rest:
        raise damaged(file.path, "its embedded profile can't be unpacked")
    unpacker = zlib.decompressobj()
    try:
        profile = unpacker.decompress(rest[1:], PROFILE_LIMIT_BYTES)
    except zlib.error:
        profile = b""
    if not unpacker.eof:
        raise damaged(file.path, "its embedded profile can't be unpacked")
    return profile


def _said(file: OpenedFile, kept: dict[bytes, bytes], exif: ExifFacts) -> Literal["srgb", "display-p3"] | None:
    """The space named without a profile; cICP before sRGB before gAMA and cHRM, as the standard ranks them."""
    code = kept.get(b"cICP", b"")
    if len(code) >= 2:
        said = {(1, 13): "srgb", (12, 13): "display-p3"}.get((code[0], code[1]))
        if said is None:
            raise unsupported(file.path, "its colours are coded for a video or HDR system")
        return "srgb" if said == "srgb" else "display-p3"
    if b"sRGB" in kept or exif.said_srgb:
        return "srgb"
    gamma = int.from_bytes(kept.get(b"gAMA", b""), "big") or 45455
    corners = struct.unpack(">8I", kept[b"cHRM"]) if len(kept.get(b"cHRM", b"")) == 32 else SRGB_CHROMATICITIES
    usual = abs(gamma - 45455) <= 500 and all(
        abs(a - b) <= 100 for a, b in zip(corners, SRGB_CHROMATICITIES, strict=True)
    )
    if not usual:
        raise unsupported(file.path, "it states a gamma and primaries of its own instead of a profile")
    return "srgb" if {b"gAMA", b"cHRM"} <= kept.keys() else None


def _with_resolution(capture: dict[str, str], physical: bytes) -> dict[str, str]:
    if len(physical) == 9 and physical[8] == 1:
        per_metre = int.from_bytes(physical[:4], "big")
        if 40 < per_metre < 4_000_000:
            return {**capture, "resolution": f"{per_metre * 0.0254:.4g} ppi"}
    return capture
