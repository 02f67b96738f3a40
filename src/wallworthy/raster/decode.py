"""Decoders behind one face: bands of stored samples, top to bottom, whatever the format."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.raster.decode_tiff import tiff_bands
from wallworthy.raster.facts import RasterFacts
from wallworthy.raster.jxl import decode_jxl
from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import damaged, truncated, unsupported

Samples = NDArray[Any]

BAND_ROWS: Final = 128

LOST_PIXELS: Final = ("premature end", "bad huffman", "instead of rst", "bad arithmetic", "truncat")
"""Words in the JPEG decoder's warnings that tell of pixels that are not there; the others are harmless."""


def bands(file: OpenedFile, facts: RasterFacts, first_row: int, end_row: int) -> Iterator[tuple[int, Samples]]:
    """(first row, samples (rows, stored width, stored channels)) covering first_row to end_row in order.

    Samples are uint8, uint16 or floats in the machine's byte order, before the turn of `orientation`
    and with alpha still there. A band may begin above `first_row` and end below `end_row`.
    Raises InputError when the picture is damaged or cut short.
    """
    if facts.format == "TIFF":
        yield from tiff_bands(file, facts, first_row, end_row)
    elif facts.format == "JPEG XL":
        yield from _sliced(decode_jxl(file, facts), first_row, end_row)
    elif facts.format == "HEIC":
        yield from _sliced(_heic(file, facts), first_row, end_row)
    else:
        yield from _vips_bands(file, facts, first_row, end_row)


def _sliced(picture: Samples, first_row: int, end_row: int) -> Iterator[tuple[int, Samples]]:
    for row in range(first_row, end_row, BAND_ROWS):
        yield row, picture[row : min(row + BAND_ROWS, end_row)]


def _vips_bands(file: OpenedFile, facts: RasterFacts, first_row: int, end_row: int) -> Iterator[tuple[int, Samples]]:
    """PNG, JPEG, WebP and AVIF through libvips, in its streaming mode.

    A JPEG is read with its decoder's warnings taken as errors, because a hole in the data is only
    a warning to it; after a warning that tells of no lost pixels, reading goes on without.
    """
    import pyvips

    row, strictness = first_row, "warning" if facts.format == "JPEG" else "error"
    while row < end_row:
        try:
            for band in _vips_rows(file, facts, row, end_row, strictness):
                yield band
                row += len(band[1])
        except pyvips.Error as error:
            text = str(error).lower()
            lost = any(word in text for word in LOST_PIXELS)
            if strictness == "warning" and not lost:
                strictness = "error"
                continue
            if "unsupported" in text:
                raise unsupported(file.path, "its way of packing is not one I know") from None
            if "truncat" in text or "premature end" in text:
                raise truncated(file.path) from None
            raise damaged(file.path, "its pixels can't be decoded") from None


def _vips_rows(
    file: OpenedFile, facts: RasterFacts, first_row: int, end_row: int, strictness: str
) -> Iterator[tuple[int, Samples]]:
    import pyvips

    image = pyvips.Image.new_from_file(str(file.path), access="sequential", fail_on=strictness, revalidate=True)
    size = (image.width, image.height)
    kind = {"uchar": np.uint8, "ushort": np.uint16}.get(str(image.format))
    stored = image.bands
    if size != facts.stored_size_px or kind is None or stored < facts.channels + (facts.alpha != "none"):
        raise damaged(file.path, "its header and its pixels disagree")
    region = pyvips.Region.new(image)
    for row in range(first_row, end_row, BAND_ROWS):
        rows = min(BAND_ROWS, end_row - row)
        samples = np.frombuffer(region.fetch(0, row, size[0], rows), dtype=kind).reshape(rows, size[0], stored)
        yield row, _full_scale(samples[..., _kept(facts, stored)], facts)


def _kept(facts: RasterFacts, stored: int) -> list[int] | slice:
    """Channels that matter of those the decoder gives: it expands the grey of AVIF and WebP to three."""
    if facts.space == "GRAY" and stored >= 3:
        return [0] if facts.alpha == "none" else [0, stored - 1]
    return slice(0, facts.channels + (facts.alpha != "none"))


def _heic(file: OpenedFile, facts: RasterFacts) -> Samples:
    import pillow_heif

    try:
        picture: Samples = np.asarray(pillow_heif.open_heif(str(file.path), convert_hdr_to_8bit=False))
    except Exception:
        # The library raises ValueError, IndexError, EOFError, SyntaxError, RuntimeError or OSError as it happens.
        raise damaged(file.path, "its pixels can't be decoded") from None
    picture = picture.reshape(*picture.shape[:2], -1)
    if picture.shape[:2] != (facts.height_px, facts.width_px) or picture.dtype.str[1:] not in ("u1", "u2"):
        raise damaged(file.path, "its header and its pixels disagree")
    return _full_scale(picture, facts)


def _full_scale(samples: Samples, facts: RasterFacts) -> Samples:
    """10 and 12 bit samples come shifted to the left of 16; stretch them so that white is 65535."""
    if samples.dtype != np.uint16 or not 8 < facts.bits < 16:
        return samples
    top = (1 << facts.bits) - 1
    return ((samples >> (16 - facts.bits)).astype(np.uint32) * 65535 // top).astype(np.uint16)
