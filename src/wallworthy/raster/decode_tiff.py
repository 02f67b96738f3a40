"""The samples of a TIFF, band after band of strips or tiles, each segment decoded and checked by itself.

libvips is not used here: its build leaves out zstd and LZMA and then hands back garbage for tiles
without an error, and it divides premultiplied colours out before we can lay them on white.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Final

import imagecodecs
import numpy as np
from numpy.typing import NDArray

from wallworthy.raster.facts import RasterFacts
from wallworthy.raster.header_tiff import TiffLayout, tiff_layout
from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import damaged, truncated
from wallworthy.raster.tags import TagError, read_tags

Samples = NDArray[Any]

BAND_BYTES: Final = 8 << 20
"""Uncompressed strips are read in pieces of about this size, however tall the strip."""

UNPACKERS: Final[dict[str, Callable[[bytes, int], bytes | bytearray]]] = {
    "LZW": lambda data, size: imagecodecs.lzw_decode(data, out=size),
    "deflate": lambda data, size: imagecodecs.deflate_decode(data, out=size),
    "zstd": lambda data, size: imagecodecs.zstd_decode(data, out=size),
    "LZMA": lambda data, size: imagecodecs.lzma_decode(data, out=size),
    "PackBits": lambda data, size: imagecodecs.packbits_decode(data, out=size),
}


def tiff_bands(file: OpenedFile, facts: RasterFacts, first_row: int, end_row: int) -> Iterator[tuple[int, Samples]]:
    """Bands (first row, samples (rows, width, stored channels)) that cover rows first_row to end_row, in order.

    Native byte order; palettes looked up, white-is-zero turned, CMYK as ink amounts. Raises InputError.
    """
    try:
        layout = tiff_layout(file, read_tags(file).directories[facts.page])
    except (TagError, IndexError):
        raise damaged(file.path, "its directory changed") from None
    with ThreadPoolExecutor(2) as pool:
        for band in range(first_row // layout.segment_height_px, layout.down):
            top = band * layout.segment_height_px
            if top >= end_row:
                return
            if layout.compression == "none" and not layout.tiled:
                pieces = _plain_pieces(file, layout, band, first_row, end_row)
            else:
                pieces = iter([(top, _band(file, layout, band, pool))])
            for row, samples in pieces:
                yield row, _finished(layout, samples)


def _plain_pieces(
    file: OpenedFile, layout: TiffLayout, band: int, first_row: int, end_row: int
) -> Iterator[tuple[int, Samples]]:
    """Rows of one uncompressed strip (of every plane), in pieces, from the first row wanted."""
    inside = 1 if layout.planar else layout.samples
    planes = layout.samples if layout.planar else 1
    row_bytes = layout.width_px * inside * int(layout.kind[2:])
    step = max(1, BAND_BYTES // (row_bytes * planes))
    top = band * layout.segment_height_px
    bottom = min(top + layout.segment_height_px, layout.height_px, end_row)
    for row in range(max(top, first_row), bottom, step):
        count = min(step, bottom - row)
        parts: list[Samples] = []
        for plane in range(planes):
            offset = layout.offsets[plane * layout.down + band] + (row - top) * row_bytes
            data = file.read(offset, count * row_bytes)
            if len(data) < count * row_bytes:
                raise truncated(file.path)
            parts.append(_array(layout, data).reshape(count, layout.width_px, inside))
        yield row, parts[0] if planes == 1 else np.concatenate(parts, axis=2)


def _band(file: OpenedFile, layout: TiffLayout, band: int, pool: ThreadPoolExecutor) -> Samples:
    """One row of segments, every plane, as (rows, width, samples)."""
    rows = min(layout.segment_height_px, layout.height_px - band * layout.segment_height_px)
    per_plane = layout.across * layout.down
    planes = layout.samples if layout.planar else 1
    places = [(plane, column) for plane in range(planes) for column in range(layout.across)]

    def decode(place: tuple[int, int]) -> Samples:
        plane, column = place
        return _segment(file, layout, plane * per_plane + band * layout.across + column, rows)

    decoded = [decode(place) for place in places] if len(places) == 1 else list(pool.map(decode, places))
    if len(decoded) == 1 and not layout.tiled:
        return decoded[0]
    whole = np.empty((rows, layout.width_px, layout.samples), dtype=decoded[0].dtype)
    for (plane, column), samples in zip(places, decoded, strict=True):
        left = column * layout.segment_width_px
        right = min(left + layout.segment_width_px, layout.width_px)
        channels = slice(plane, plane + 1) if layout.planar else slice(None)
        whole[:, left:right, channels] = samples[:, : right - left]
    return whole


def _segment(file: OpenedFile, layout: TiffLayout, index: int, rows: int) -> Samples:
    """One strip or tile as (rows, segment width, channels inside)."""
    data = file.read(layout.offsets[index], layout.lengths[index])
    if len(data) < layout.lengths[index]:
        raise truncated(file.path)
    inside = 1 if layout.planar else layout.samples
    shape = (rows, layout.segment_width_px, inside)
    if layout.compression == "JPEG":
        return _jpeg(file, layout, data)[:rows]
    if layout.reversed_bits:
        data = bytes(imagecodecs.bitorder_decode(data))
    full = layout.segment_height_px * layout.segment_width_px * inside * int(layout.kind[2:])
    if layout.compression != "none":
        try:
            data = bytes(UNPACKERS[layout.compression](data, full))
        except Exception:
            # Each codec has an error class of its own, all of them RuntimeError or ValueError in disguise.
            raise damaged(file.path, "a strip or tile can't be unpacked") from None
    need = rows * layout.segment_width_px * inside * int(layout.kind[2:])
    if len(data) < need:
        raise damaged(file.path, "a strip or tile holds fewer pixels than it should")
    return _unpredicted(layout, data[:need], shape)


def _unpredicted(layout: TiffLayout, data: bytes, shape: tuple[int, int, int]) -> Samples:
    if layout.predictor == 3:
        stored = np.frombuffer(data, dtype=layout.kind).reshape(shape)
        plain: Samples = imagecodecs.floatpred_decode(stored, axis=-2, dist=1)
        return plain.astype(plain.dtype.newbyteorder("="), copy=False).reshape(shape)
    samples = _array(layout, data).reshape(shape)
    if layout.predictor == 2:
        differences = samples.view(f"u{samples.itemsize}")
        return np.cumsum(differences, axis=1, dtype=differences.dtype).view(samples.dtype)
    return samples


def _array(layout: TiffLayout, data: bytes) -> Samples:
    """Samples in the machine's own byte order."""
    samples = np.frombuffer(data, dtype=layout.kind)
    return samples.astype(samples.dtype.newbyteorder("="), copy=False)


def _jpeg(file: OpenedFile, layout: TiffLayout, data: bytes) -> Samples:
    """A JPEG strip or tile; YCbCr comes out as RGB (TIFF Technical Note 2)."""
    inside = 1 if layout.planar else layout.samples
    if b"\xff\xd9" not in data[-64:]:
        raise damaged(file.path, "a strip or tile breaks off")
    stored = wanted = None
    if layout.photometric == 6:
        stored, wanted = "YCBCR", "RGB"
    elif layout.photometric == 2 and inside == 3:
        # A JFIF mark says YCbCr louder than the tag says RGB; the decoder then goes by the mark.
        stored, wanted = (None if b"JFIF" in data[:32] else "RGB"), "RGB"
    elif layout.photometric == 5 and inside == 4:
        stored = wanted = "CMYK"
    try:
        decoded: Samples = imagecodecs.jpeg8_decode(
            data, tables=layout.jpeg_tables or None, colorspace=stored, outcolorspace=wanted
        )
    except Exception:
        raise damaged(file.path, "a strip or tile can't be unpacked") from None
    decoded = decoded.reshape(*decoded.shape[:2], -1)
    fits = decoded.shape[1] == layout.segment_width_px and decoded.shape[2] == inside and decoded.dtype == np.uint8
    if not fits or decoded.shape[0] < min(layout.segment_height_px, layout.height_px % layout.segment_height_px or 1):
        raise damaged(file.path, "a strip or tile holds fewer pixels than it should")
    return decoded


def _finished(layout: TiffLayout, samples: Samples) -> Samples:
    if layout.photometric == 3:
        table = np.array(layout.colour_map, dtype=np.uint16).reshape(3, 256).T
        if table.max() < 256:  # some writers keep 8-bit values in the 16-bit table
            return table.astype(np.uint8)[samples[..., 0]]
        return ((table.astype(np.uint32) * 255 + 32767) // 65535).astype(np.uint8)[samples[..., 0]]
    if layout.photometric == 0:
        turned = samples.copy()
        top = 1.0 if layout.kind[1] == "f" else np.iinfo(samples.dtype).max
        turned[..., 0] = top - samples[..., 0]
        return turned
    return _lab_units(layout, samples) if layout.photometric in (8, 9) else samples


def _lab_units(layout: TiffLayout, samples: Samples) -> Samples:
    """CIELab (8) and ICCLab (9) samples as float32 L*, a*, b*; further channels 0-1 (TIFF 6.0, section 23;
    Technical Note of 2002 for 16 bits and ICCLab)."""
    if layout.kind[1] == "f":
        return samples
    lab = samples.astype(np.float32)
    wide = samples.dtype == np.uint16
    lab[..., 0] *= np.float32(100 / (65280 if wide and layout.photometric == 9 else 65535 if wide else 255))
    if layout.photometric == 9:
        lab[..., 1:3] = lab[..., 1:3] / (256 if wide else 1) - 128
    else:
        signed = samples[..., 1:3].view(np.int16 if wide else np.int8)
        lab[..., 1:3] = signed.astype(np.float32) / (256 if wide else 1)
    lab[..., 3:] /= np.float32(65535 if wide else 255)
    return lab
