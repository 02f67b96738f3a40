"""The headers of HEIC, AVIF and WebP."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Any, Final, Literal

from wallworthy.base.records import Notice
from wallworthy.raster.boxes import PictureBoxes, read_boxes
from wallworthy.raster.capture import exif_facts
from wallworthy.raster.facts import RasterFacts
from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import check_size, check_whole, damaged, truncated, unsupported

CODED_SPACES: Final[dict[tuple[int, int], Literal["srgb", "display-p3"]]] = {
    (1, 13): "srgb",
    (1, 1): "srgb",
    (12, 13): "display-p3",
}
"""H.273 primaries and transfer. 1, 1 (BT.709) is what encoders write for pictures meant as sRGB."""
UNSPECIFIED: Final = 2
AVIF_FIELDS: Final = ("bits-per-sample", "exif-data", "n-pages")
WEBP_CHUNKS_LIMIT: Final = 10_000


def said_by_code(path: Path, coded: tuple[int, int] | None) -> Literal["srgb", "display-p3"] | None:
    """The space H.273 code points name; None when they name none. Raises InputError for video and HDR codes."""
    if coded is None or coded[0] == UNSPECIFIED or coded[1] == UNSPECIFIED:
        return None
    said = CODED_SPACES.get((coded[0], 13 if coded[1] in (6, 14) else coded[1]))
    if said is None:
        raise unsupported(path, "its colours are coded for a video or HDR system")
    return said


def read_heic(file: OpenedFile) -> RasterFacts:
    """Facts of a HEIC picture; the decoder turns it upright itself."""
    import pillow_heif

    boxes = read_boxes(file)
    _check_claim(file, boxes)
    try:
        opened = pillow_heif.open_heif(str(file.path), convert_hdr_to_8bit=False)
        info: dict[str, Any] = dict(opened.info)
        size, mode, pictures = opened.size, opened.mode, len(opened)
    except Exception:
        # The library raises ValueError, IndexError, EOFError, SyntaxError, RuntimeError or OSError as it happens.
        raise damaged(file.path, "its description can't be followed") from None
    exif = exif_facts(info.get("exif") or b"")
    return _modern(
        file,
        boxes,
        "HEIC",
        size,
        int(info.get("bit_depth", 8)),
        channels=len(mode.split(";")[0]),
        premultiplied=bool(getattr(opened, "premultiplied_alpha", False)),
        pictures=pictures,
        capture=exif.capture,
        said_srgb=exif.said_srgb,
    )


def read_avif(file: OpenedFile) -> RasterFacts:
    """Facts of an AVIF picture; the decoder turns it upright itself."""
    import pyvips

    boxes = read_boxes(file)
    _check_claim(file, boxes)
    try:
        image = pyvips.Image.heifload(str(file.path), revalidate=True)
    except pyvips.Error:
        raise damaged(file.path, "its description can't be followed") from None
    fields: dict[str, Any] = {name: image.get(name) for name in image.get_fields() if name in AVIF_FIELDS}
    exif = exif_facts(fields.get("exif-data", b""))
    channels = image.bands
    if boxes.channels == 1:
        channels -= 2
    return _modern(
        file,
        boxes,
        "AVIF",
        (image.width, image.height),
        int(fields.get("bits-per-sample", 8)),
        channels=channels,
        premultiplied=False,
        pictures=int(fields.get("n-pages", 1)),
        capture=exif.capture,
        said_srgb=exif.said_srgb,
    )


def _check_claim(file: OpenedFile, boxes: PictureBoxes) -> None:
    if boxes.size_px is None:
        raise damaged(file.path, "it does not say how large it is")
    check_size(file.path, *boxes.size_px, file.size)
    check_whole(file.path, boxes.size_px[0] * boxes.size_px[1] * 8, "a HEIC or AVIF")


def _modern(
    file: OpenedFile,
    boxes: PictureBoxes,
    kind: Literal["HEIC", "AVIF"],
    size_px: tuple[int, int],
    bits: int,
    *,
    channels: int,
    premultiplied: bool,
    pictures: int,
    capture: dict[str, str],
    said_srgb: bool,
) -> RasterFacts:
    check_size(file.path, *size_px, file.size)
    said = None
    if boxes.profile is None:
        said = said_by_code(file.path, boxes.coded) or ("srgb" if said_srgb else None)
    text = f"The file holds {pictures} pictures; the main one is used."
    return RasterFacts(
        path=file.path,
        format=kind,
        width_px=size_px[0],
        height_px=size_px[1],
        orientation=1,
        bits=bits,
        floating=False,
        space="GRAY" if channels <= 2 else "RGB",
        alpha="none" if channels in (1, 3) else "premultiplied" if premultiplied else "straight",
        icc=boxes.profile,
        said_space=said,
        capture=capture,
        notices=(Notice("first_picture", text),) if pictures > 1 else (),
        stamp=file.stamp,
        whole=True,
    )


def read_webp(file: OpenedFile) -> RasterFacts:
    """Facts of a WebP (RFC 9649). Raises InputError."""
    length = int.from_bytes(file.read(4, 4), "little") + 8
    if length > file.size:
        raise truncated(file.path)
    chunks: dict[bytes, bytes] = {}
    at = 12
    for _ in range(WEBP_CHUNKS_LIMIT):
        head = file.read(at, 8)
        if at + 8 > length:
            break
        kind, size = struct.unpack("<4sI", head)
        if at + 8 + size > length:
            raise truncated(file.path)
        limit = size if kind in (b"ICCP", b"EXIF") else 16
        chunks.setdefault(kind, file.read(at + 8, limit))
        at += 8 + size + size % 2
    width, height, alpha = _webp_size(file, chunks)
    check_size(file.path, width, height, file.size)
    check_whole(file.path, width * height * 4, "a WebP")
    exif = exif_facts(chunks.get(b"EXIF", b""))
    icc = chunks.get(b"ICCP") or None
    turned = exif.orientation >= 5
    animated = (Notice("first_picture", "The WebP is an animation; its first picture is used."),)
    return RasterFacts(
        path=file.path,
        format="WebP",
        width_px=height if turned else width,
        height_px=width if turned else height,
        orientation=exif.orientation,
        bits=8,
        floating=False,
        space="RGB",
        alpha="straight" if alpha else "none",
        icc=icc,
        said_space="srgb" if exif.said_srgb and icc is None else None,
        capture=exif.capture,
        notices=animated if b"ANIM" in chunks else (),
        stamp=file.stamp,
        whole=True,
    )


def _webp_size(file: OpenedFile, chunks: dict[bytes, bytes]) -> tuple[int, int, bool]:
    extended, lossy, lossless = chunks.get(b"VP8X", b""), chunks.get(b"VP8 ", b""), chunks.get(b"VP8L", b"")
    if len(extended) >= 10:
        width, height = (int.from_bytes(extended[at : at + 3], "little") + 1 for at in (4, 7))
        return width, height, bool(extended[0] & 0x10)
    if len(lossless) >= 5 and lossless[0] == 0x2F:
        packed = int.from_bytes(lossless[1:5], "little")
        return (packed & 0x3FFF) + 1, (packed >> 14 & 0x3FFF) + 1, bool(packed >> 28 & 1)
    if len(lossy) >= 10 and lossy[3:6] == b"\x9d\x01\x2a":
        width, height = struct.unpack("<HH", lossy[6:10])
        return width & 0x3FFF, height & 0x3FFF, False
    raise damaged(file.path, "it holds no picture")
