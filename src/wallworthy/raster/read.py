"""Reading pictures: what the header says (`inspect`), and the pixels in upright strips (`read_strips`)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import Box
from wallworthy.raster.decode import bands
from wallworthy.raster.facts import RasterFacts, stamp_of
from wallworthy.raster.header_heif import heif_reader
from wallworthy.raster.header_png import read_png
from wallworthy.raster.header_tiff import read_tiff
from wallworthy.raster.header_vips import read_jpeg, read_webp
from wallworthy.raster.jxl import read_jxl
from wallworthy.raster.opened import OpenedFile, opened
from wallworthy.raster.refusals import changed, damaged
from wallworthy.raster.spool import canvas

Samples = NDArray[Any]
Turn = Callable[[Samples], Samples]

HEIC_BRANDS: Final = frozenset((b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"))
AVIF_BRANDS: Final = frozenset((b"avif", b"avis"))

TURNS: Final[dict[int, Turn]] = {
    1: lambda a: a,
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.swapaxes(0, 1),
    6: lambda a: a.swapaxes(0, 1)[:, ::-1],
    7: lambda a: a.swapaxes(0, 1)[::-1, ::-1],
    8: lambda a: a.swapaxes(0, 1)[::-1],
}
"""What makes a stored picture upright, by orientation (TIFF 6.0, Orientation; EXIF the same)."""


def inspect(path: str | Path) -> RasterFacts:
    """What a picture file's header says; judged by content, not by name; no pixel is decoded.

    Raises InputError when the file is missing, empty, no picture, damaged, cut short, too large or
    of a kind that is not read.
    """
    with opened(Path(path)) as file:
        return _reader_of(file)(file)


def read_strips(facts: RasterFacts, rows: int, crop: Box | None = None) -> Iterator[Samples]:
    """The picture from top to bottom, upright, alpha laid on white, in strips of `rows` (the last may be shorter).

    Yields (rows, width, channels): uint8, uint16 or float32; grey 1, RGB 3, CMYK 4 (ink amounts);
    Lab 3, always float32 in L*a*b* units. `crop` is (row, column, height, width) of the upright
    picture and must lie inside. Raises InputError.
    """
    box = crop or (0, 0, facts.height_px, facts.width_px)
    check_crop(facts, box)
    with opened(facts.path) as file:
        if file.stamp != facts.stamp:
            raise changed(facts.path)
        if facts.orientation in (1, 2):
            yield from _streamed(file, facts, rows, box)
        else:
            yield from _spooled(file, facts, rows, box)
        if stamp_of(facts.path) != facts.stamp:
            raise changed(facts.path)


def check_crop(facts: RasterFacts, box: Box) -> None:
    """Refuse a crop that is empty or reaches beyond the picture."""
    row, column, height, width = box
    inside = row >= 0 and column >= 0 and height > 0 and width > 0
    if not inside or row + height > facts.height_px or column + width > facts.width_px:
        raise InputError(
            "crop_outside",
            f"The crop {row},{column},{height},{width} does not lie inside the picture "
            f"({facts.height_px} rows, {facts.width_px} columns).",
            "Give row, column, height and width in the picture's own pixels.",
            where="--crop",
        )


def _reader_of(file: OpenedFile) -> Callable[[OpenedFile], RasterFacts]:
    head = file.read(0, 64)
    if head[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        return read_tiff
    if head[:8] == b"\x89PNG\r\n\x1a\n":
        return read_png
    if head[:3] == b"\xff\xd8\xff":
        return read_jpeg
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return read_webp
    if head[:2] == b"\xff\x0a" or head[:12] == b"\0\0\0\x0cJXL \r\n\x87\n":
        return read_jxl
    if head[4:8] == b"ftyp":
        length = min(int.from_bytes(head[:4], "big"), len(head))
        brands = {head[at : at + 4] for at in (8, *range(16, length - 3, 4))}
        if head[8:12] in AVIF_BRANDS or (brands & AVIF_BRANDS and head[8:12] not in HEIC_BRANDS - {b"mif1", b"msf1"}):
            return heif_reader("AVIF")
        if brands & HEIC_BRANDS:
            return heif_reader("HEIC")
    raise InputError(
        "master_not_picture",
        f"{file.path.name} is not a picture of a kind I read.",
        "I read TIFF, PNG, JPEG, HEIC, AVIF, JPEG XL and WebP, whatever the name says.",
        where=str(file.path),
    )


def _streamed(file: OpenedFile, facts: RasterFacts, rows: int, box: Box) -> Iterator[Samples]:
    """Strips as the decoder delivers them; a left-right flip is done strip by strip."""
    top, left, height, width = box
    flipped = facts.orientation == 2
    start = facts.width_px - left - width if flipped else left
    pending: list[Samples] = []
    held = 0
    for first, samples in bands(file, facts, top, top + height):
        part = samples[max(0, top - first) : top + height - first, start : start + width]
        part = _on_white(part, facts)
        if flipped:
            part = part[:, ::-1]
        pending.append(part)
        held += part.shape[0]
        while held >= rows:
            strip, rest = _split(pending, rows)
            pending, held = ([rest] if rest.shape[0] else []), rest.shape[0]
            yield strip
    if held:
        yield _split(pending, held)[0]


def _split(pending: list[Samples], rows: int) -> tuple[Samples, Samples]:
    whole = pending[0] if len(pending) == 1 else np.concatenate(pending)
    return whole[:rows], whole[rows:]


def _spooled(file: OpenedFile, facts: RasterFacts, rows: int, box: Box) -> Iterator[Samples]:
    """Turned pictures: decoded once onto an upright canvas, then read from it."""
    _, height = facts.stored_size_px
    upright: Samples | None = None
    for first, samples in bands(file, facts, 0, height):
        part = _on_white(samples[: height - first], facts)
        if upright is None:
            upright = canvas((facts.height_px, facts.width_px, part.shape[2]), part.dtype)
        # The canvas seen as it was stored: turning is its own inverse but for 6 and 8.
        stored = TURNS[{6: 8, 8: 6}.get(facts.orientation, facts.orientation)](upright)
        stored[first : first + part.shape[0]] = part
    if upright is None:
        raise damaged(facts.path, "it holds no pixels")
    top, left, box_height, box_width = box
    for row in range(top, top + box_height, rows):
        yield upright[row : min(row + rows, top + box_height), left : left + box_width]


def _on_white(samples: Samples, facts: RasterFacts) -> Samples:
    """Colour channels with alpha laid on paper white (device white; no ink for CMYK); float16 made float32."""
    if samples.dtype == np.float16:
        samples = samples.astype(np.float32)
    colours = samples[..., : facts.channels]
    if facts.alpha == "none":
        return colours
    floating = samples.dtype.kind == "f"
    top = 1.0 if floating else float(np.iinfo(samples.dtype).max)
    alpha = np.clip(samples[..., facts.channels : facts.channels + 1].astype(np.float32) / np.float32(top), 0, 1)
    laid = colours.astype(np.float32)
    if facts.alpha == "straight":
        laid *= alpha
    laid += (1 - alpha) * _white(facts, top)
    return laid if floating else np.clip(np.rint(laid), 0, top).astype(samples.dtype)


def _white(facts: RasterFacts, top: float) -> NDArray[np.float32]:
    """Bare paper in stored samples."""
    if facts.space == "LAB":
        return np.array([100, 0, 0], dtype=np.float32)
    return np.full(facts.channels, 0 if facts.space == "CMYK" else top, dtype=np.float32)
