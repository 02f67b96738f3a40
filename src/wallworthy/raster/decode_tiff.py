"""The samples of a TIFF, band after band, each strip or tile decoded by tifffile and checked.

libvips is not used here: its build leaves out zstd and LZMA and then hands back garbage for tiles
without an error, and it divides premultiplied colours out before we can lay them on white.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from typing import Any, Final, cast

import numpy as np
import tifffile
from numpy.typing import NDArray
from tifffile.tifffile import jpeg_shape

from wallworthy.base.errors import InputError
from wallworthy.raster.facts import RasterFacts
from wallworthy.raster.header_tiff import (
    JPEG,
    NO_COMPRESSION,
    alpha_channel,
    grid,
    planes,
    sample_type,
    tiff_opened,
)
from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import damaged, truncated
from wallworthy.raster.stream import ordered_map

Samples = NDArray[Any]

BAND_BYTES: Final = 4 << 20
"""Uncompressed strips are read in pieces of about this size, however tall the strip."""


def tiff_bands(file: OpenedFile, facts: RasterFacts, first_row: int, end_row: int) -> Iterator[tuple[int, Samples]]:
    """Bands (first row, samples (rows, width, stored channels)) that cover rows first_row to end_row, in order.

    Native byte order; palettes looked up, white-is-zero turned, Lab in its units.
    Two threads decode. Raises InputError.
    """
    with tiff_opened(file) as tiff:
        page = cast(tifffile.TiffPage, tiff.pages[facts.page])
        _cut_small(page)
        page.init_decode()
    down, across, tall, wide = grid(page)
    wanted = range(first_row // tall, -(-end_row // tall))
    places = [(plane, column) for plane in range(planes(page)) for column in range(across)]
    numbers = ((plane * down + band) * across + column for band in wanted for plane, column in places)
    with closing(ordered_map(lambda number: _segment(file, page, number), numbers)) as segments:
        for band in wanted:
            rows = min(tall, page.imagelength - band * tall)
            if len(places) == 1:
                yield band * tall, _finished(page, facts, next(segments)[:rows, : page.imagewidth])
                continue
            whole = np.empty((rows, page.imagewidth, page.samplesperpixel), dtype=page.dtype)
            for plane, column in places:
                part = whole[:, column * wide : (column + 1) * wide]
                channels = slice(plane, plane + 1) if planes(page) > 1 else slice(None)
                part[..., channels] = next(segments)[:rows, : part.shape[1]]
            yield band * tall, _finished(page, facts, whole)


def _cut_small(page: tifffile.TiffPage) -> None:
    """Let an uncompressed picture in one strip a plane be many small strips, so that it is read piece by piece."""
    if page.compression != NO_COMPRESSION or page.is_tiled or page.rowsperstrip < page.imagelength:
        return
    row_bytes = page.imagewidth * page.samplesperpixel // planes(page) * np.dtype(page.dtype).itemsize
    step = max(1, min(page.imagelength, BAND_BYTES // (row_bytes * planes(page))))
    tops = range(0, page.imagelength, step)
    page.dataoffsets = tuple(offset + row * row_bytes for offset in page.dataoffsets for row in tops)
    lengths = [min(step, page.imagelength - row) * row_bytes for row in tops]
    page.databytecounts = tuple(lengths * planes(page))
    page.rowsperstrip = step


def _segment(file: OpenedFile, page: tifffile.TiffPage, number: int) -> Samples:
    """One strip or tile as (rows, columns, channels inside); the last strip of a plane may be shorter."""
    length = page.databytecounts[number]
    data = file.read(page.dataoffsets[number], length)
    if len(data) < length:
        raise truncated(file.path)
    try:
        if page.compression == JPEG and not _is_whole_jpeg(page, data):
            raise damaged(file.path, "a strip or tile holds another picture than it should")
        samples = page.decode(data, number, jpegtables=page.jpegtables)[0]
    except InputError:
        raise
    except Exception:
        # Each codec has an error class of its own, all of them RuntimeError or ValueError in disguise.
        raise damaged(file.path, "a strip or tile can't be unpacked") from None
    if samples is None or samples.dtype != page.dtype:
        raise damaged(file.path, "a strip or tile can't be unpacked")
    return samples[0]


def _is_whole_jpeg(page: tifffile.TiffPage, data: bytes) -> bool:
    """Whether a JPEG ends as one and claims no more and no less than its strip or tile; the decoder would not mind."""
    _, _, rows, columns = grid(page)
    _, height, width, _ = jpeg_shape(data)
    last = page.imagelength % rows or rows, page.imagewidth % columns or columns
    return b"\xff\xd9" in data[-64:] and last[0] <= height <= rows and width in (columns, last[1])


def _finished(page: tifffile.TiffPage, facts: RasterFacts, samples: Samples) -> Samples:
    samples = samples.view(sample_type(page))
    number = alpha_channel(page)
    if facts.alpha != "none" and number is not None and number != facts.channels:
        samples = samples[..., [*range(facts.channels), number]]
    if page.photometric == 3:
        table = np.array(page.colormap, dtype=np.uint16).T
        if table.max() < 256:  # some writers keep 8-bit values in the 16-bit table
            return table.astype(np.uint8)[samples[..., 0]]
        return ((table.astype(np.uint32) * 255 + 32767) // 65535).astype(np.uint8)[samples[..., 0]]
    if page.photometric == 0:
        turned = samples.copy()
        top = 1.0 if samples.dtype.kind == "f" else np.iinfo(samples.dtype).max
        turned[..., 0] = top - samples[..., 0]
        return turned
    return _lab_units(page, samples) if page.photometric in (8, 9) else samples


def _lab_units(page: tifffile.TiffPage, samples: Samples) -> Samples:
    """CIELab (8) and ICCLab (9) samples as float32 L*, a*, b*; further channels 0-1 (TIFF 6.0, section 23;
    Technical Note of 2002 for 16 bits and ICCLab)."""
    if samples.dtype.kind == "f":
        return samples
    lab = samples.astype(np.float32)
    wide = samples.dtype == np.uint16
    lab[..., 0] *= np.float32(100 / (65280 if wide and page.photometric == 9 else 65535 if wide else 255))
    if page.photometric == 9:
        lab[..., 1:3] = lab[..., 1:3] / (256 if wide else 1) - 128
    else:
        signed = samples[..., 1:3].view(np.int16 if wide else np.int8)
        lab[..., 1:3] = signed.astype(np.float32) / (256 if wide else 1)
    lab[..., 3:] /= np.float32(65535 if wide else 255)
    return lab
